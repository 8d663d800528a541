/* detail-rows.c - of which rows the details of a result are made */
#include "report/detail-form.h"

static const SpateColumn RADIOS[] = {
    {"node", SPATE_CELL_NODE}, {"bearer", SPATE_CELL_BEARER}, {NULL}};
static const SpateColumn LINKS[] = {{"from_radio", SPATE_CELL_RADIO},
                                    {"to_radio", SPATE_CELL_RADIO},
                                    {"margin_db", SPATE_CELL_NUMBER},
                                    {"margin_back_db", SPATE_CELL_NUMBER},
                                    {NULL}};
static const SpateColumn NODE_MEASURES[] = {
    {"node", SPATE_CELL_NODE},        {"delivery", SPATE_CELL_NUMBER},
    {"low", SPATE_CELL_NUMBER},       {"high", SPATE_CELL_NUMBER},
    {"pairs", SPATE_CELL_WHOLE},      {"from_delivery", SPATE_CELL_NUMBER},
    {"from_low", SPATE_CELL_NUMBER},  {"from_high", SPATE_CELL_NUMBER},
    {"from_pairs", SPATE_CELL_WHOLE}, {NULL}};
static const SpateColumn RADIO_MEASURES[] = {{"radio", SPATE_CELL_RADIO},
                                             {"sending", SPATE_CELL_NUMBER},
                                             {"low", SPATE_CELL_NUMBER},
                                             {"high", SPATE_CELL_NUMBER},
                                             {"audible_per_hour", SPATE_CELL_NUMBER},
                                             {"received", SPATE_CELL_NUMBER},
                                             {"lost_collision", SPATE_CELL_NUMBER},
                                             {"lost_busy", SPATE_CELL_NUMBER},
                                             {"lost_sending", SPATE_CELL_NUMBER},
                                             {"lost_blocked", SPATE_CELL_NUMBER},
                                             {"redundant", SPATE_CELL_NUMBER},
                                             {"transmissions_per_hour", SPATE_CELL_NUMBER},
                                             {NULL}};
static const SpateColumn DISTURBERS[] = {{"receiver_radio", SPATE_CELL_RADIO},
                                         {"sender_radio", SPATE_CELL_RADIO_OR_NONE},
                                         {"blame", SPATE_CELL_TEXT},
                                         {"per_hour", SPATE_CELL_NUMBER},
                                         {"share", SPATE_CELL_NUMBER},
                                         {"collision", SPATE_CELL_NUMBER},
                                         {"busy", SPATE_CELL_NUMBER},
                                         {"blocked", SPATE_CELL_NUMBER},
                                         {NULL}};

const SpateRowForm SPATE_VARIANT_ROWS[] = {{"radios", RADIOS},
                                           {"links", LINKS},
                                           {"node_measures", NODE_MEASURES},
                                           {"radio_measures", RADIO_MEASURES},
                                           {"disturbers", DISTURBERS},
                                           {NULL, NULL}};

static const SpateColumn FRAMES[] = {{"radio", SPATE_CELL_RADIO},
                                     {"start_us", SPATE_CELL_SINCE},
                                     {"airtime_us", SPATE_CELL_WHOLE},
                                     {"hops", SPATE_CELL_WHOLE},
                                     {"queued_us", SPATE_CELL_SINCE},
                                     {"waited_duty_us", SPATE_CELL_WHOLE},
                                     {"waited_access_us", SPATE_CELL_WHOLE},
                                     {"carrier", SPATE_CELL_WHOLE},
                                     {"received_first", SPATE_CELL_RADIOS},
                                     {"received_again", SPATE_CELL_RADIOS},
                                     {"lost_collision", SPATE_CELL_PAIRS},
                                     {"lost_busy", SPATE_CELL_PAIRS},
                                     {"lost_sending", SPATE_CELL_RADIOS},
                                     {"lost_blocked", SPATE_CELL_PAIRS},
                                     {"ended", SPATE_CELL_FLAG},
                                     {NULL}};
static const SpateColumn ARRIVALS[] = {{"radio", SPATE_CELL_RADIO},
                                       {"at_us", SPATE_CELL_SINCE},
                                       {"from_radio", SPATE_CELL_RADIO},
                                       {"hops", SPATE_CELL_WHOLE},
                                       {NULL}};
static const SpateColumn DECISIONS[] = {
    {"radio", SPATE_CELL_RADIO},           {"at_us", SPATE_CELL_SINCE},
    {"decision", SPATE_CELL_TEXT},         {"bridge", SPATE_CELL_TEXT_OR_NONE},
    {"crossing", SPATE_CELL_TEXT_OR_NONE}, {"rule", SPATE_CELL_WHOLE},
    {"rule_line", SPATE_CELL_NUMBER},      {NULL}};
static const SpateColumn DROPPED[] = {
    {"radio", SPATE_CELL_RADIO}, {"at_us", SPATE_CELL_SINCE}, {"cause", SPATE_CELL_TEXT}, {NULL}};
static const SpateColumn DELIVERED[] = {
    {"node", SPATE_CELL_NODE}, {"at_us", SPATE_CELL_SINCE}, {"hops", SPATE_CELL_WHOLE}, {NULL}};

const SpateRowForm SPATE_REPLAY_ROWS[] = {{"frames", FRAMES},       {"arrivals", ARRIVALS},
                                          {"decisions", DECISIONS}, {"dropped", DROPPED},
                                          {"delivered", DELIVERED}, {NULL, NULL}};
