/* test-bad-files.c - each class of fault has a file in bad/, named after it
 *
 * A row says where the fault of the file is, a part of what is said of it, and a part of the hint
 * (NULL: there is none).
 */
#include "scenario/scenario.h"

#include "support/sanitized.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const char *file;
    int line, column;
    const char *message, *hint;
    bool has_others; /* faults that follow from it */
} Row;

static const Row ROWS[] = {
    {"unknown-key", 27, 1, "unknown key 'grups'", "did you mean 'groups'?", true},
    {"no-format", 1, 1, "'spate: 1' is missing", "this program reads format 1", false},
    {"result-of-a-run", 1, 1, "this is a result, not a scenario", "check --against compares", true},
    {"other-format", 1, 8, "this program reads format 1", "spate: 1", false},
    {"missing-section", 1, 1, "'run' is missing", "a scenario needs 'run'", false},
    {"map-expected", 27, 9, "'groups' must be a map, not a list", "{key: value}", true},
    {"list-expected", 41, 3, "'expect' must be a list, not a map", "[a, b]", false},
    {"value-expected", 36, 45, "'payload' must be a single value, not a list", "without brackets",
     false},
    {"nothing-given", 28, 9, "'bridges' must be a map, not nothing", "{key: value}", true},
    {"duplicate-key", 12, 5, "'kind' is given twice", "line 11", false},
    {"bad-seed", 2, 7, "'-3' is out of range", "0 to 9007199254740992", false},
    {"unit-missing", 2, 17, "'1' has no unit", "ns, us, ms, s, min, h or day", false},
    {"unit-wrong", 2, 17, "'km' is not a unit of a time", "ns, us, ms, s, min, h or day", false},
    {"not-a-number", 8, 23, "'ten' is not a whole number", "digits only", false},
    {"out-of-range", 8, 23, "'13' is out of range", "5 to 12", false},
    {"exponent-number", 2, 17, "'1e3 s' is not a time", "without an exponent", false},
    {"octal-number", 8, 23, "'010' is not a whole number", "leading zero", false},
    {"sexagesimal-time", 2, 17, "'1:30' is not a time", "as in 90 s", false},
    {"huge-number", 2, 17, "this number is too long", "at most 18 digits", false},
    {"fraction-of-count", 24, 12, "'4.5' is not a whole number", "without a fraction", false},
    {"no-time-left", 2, 17, "'duration' leaves no time in which messages count",
     "longer than 'warm-up' (0 s) and 'cool-down' (1 min) together", false},
    {"replications-backwards", 2, 60, "no value lies between these bounds",
     "not less than 'at-least'", false},
    {"replications-without-most", 2, 22, "'at-most' is missing", "replications needs 'at-most'",
     false},
    {"replications-without-spread", 2, 47, "'1' is out of range", "2 to 1000000", false},
    {"unknown-kind", 5, 11, "'lorra' is not a valid value for 'kind'", "did you mean 'lora'?",
     false},
    {"missing-kind", 4, 3, "'kind' is missing", "a bearer needs 'kind'", false},
    {"missing-spreading-factor", 4, 3, "'spreading-factor' is missing",
     "a bearer needs 'spreading-factor'", false},
    {"key-of-another-kind", 6, 5, "'rate' does not apply here", "it applies to dsss", false},
    {"no-such-bandwidth", 7, 16, "no LoRa radio has that bandwidth at that frequency",
     "125, 250 or 500 kHz", false},
    {"bandwidth-near-a-listed-one", 7, 16, "no LoRa radio has that bandwidth at that frequency",
     "125, 250 or 500 kHz", false},
    {"duty-cycle-of-one", 8, 17, "'1' has no unit", "1 % or 100 %?", false},
    {"share-without-percent", 41, 50, "'95' has no unit", "did you mean 95 %?", false},
    {"count-with-a-sign", 24, 12, "'+4' is not a plain whole number", "digits only, as in 12",
     false},
    {"no-such-rate", 12, 11, "no dsss radio has that rate",
     "250 kbit/s, 500 kbit/s, 1 Mbit/s or 2 Mbit/s", false},
    {"lock-longer-than-preamble", 6, 11, "'lock' is longer than the preamble of 8 symbols",
     "within the preamble", false},
    {"frame-too-large", 6, 20, "no LoRa radio sends frames of 300 bytes", "at most 255 bytes",
     false},
    {"access-of-another-kind", 6, 22, "'csma' is for dsss bearers", "lora allows none or cad",
     false},
    {"access-key-of-another-method", 12, 28, "'slots' does not apply here", "it applies to cad",
     false},
    {"unknown-method", 12, 22, "'csna' is not a valid value for 'method'", "did you mean 'csma'?",
     false},
    {"no-flag", 6, 10, "'maybe' is neither yes nor no", "yes or no", false},
    {"fading-of-two-kinds", 6, 28, "'nakagami' cannot be combined with 'rician'", "keep one",
     false},
    {"fading-of-no-kind", 6, 5, "'fading' does not say which kind", "rician", false},
    {"bad-bearer-name", 10, 3, "'yard one' is not a valid name", "digits", true},
    {"no-bearers", 3, 1, "there are 0 bearers", "1 to 100", true},
    {"unknown-model", 9, 26, "'log-distence' is not a valid value for 'model'",
     "did you mean 'log-distance'?", false},
    {"street-level-without-environment", 9, 5, "'environment' is missing",
     "propagation needs 'environment'", false},
    {"terrain-model-without-heights", 9, 26, "the model 'terrain' needs a height model",
     "terrain: {elevation: FILE}", false},
    {"exponent-missing", 9, 5, "'exponent' is missing", "propagation needs 'exponent'", false},
    {"between-of-one-group", 9, 57, "'groups' must name two groups, not 1", "groups: [A, B]",
     false},
    {"between-unknown-group", 9, 66, "there is no node or group 'sail'", "did you mean 'soil'?",
     false},
    {"unknown-policy", 14, 20, "'clasic' is not a valid value for 'policy'",
     "did you mean 'classic'?", false},
    {"copies-missing", 14, 1, "policy 'counter' needs 'copies'", "copies: 3", false},
    {"p-missing", 14, 1, "policy 'probability' needs 'p'", "p: 60 %", false},
    {"unknown-traffic-in-flooding-rule", 14, 44, "there is no traffic 'moistur'",
     "did you mean 'moisture'?", false},
    {"occupancy-without-radio", 14, 12, "node 'ridge' has no radio on 'yard'", "its own radio",
     false},
    {"flooding-rules-as-map", 20, 23, "'rules' must be a list, not a map", "[a, b]", false},
    {"power-missing", 18, 14, "'power' is missing", "a radio needs 'power'", false},
    {"unknown-bearer-of-radio", 26, 14, "there is no bearer 'yart'", "did you mean 'yard'?", false},
    {"relay-without-radio", 19, 21, "this node has no radio on 'yard'", "'radios'", false},
    {"relay-unknown-bearer", 19, 13, "there is no bearer 'vally'", "did you mean 'valley'?", false},
    {"node-without-place", 16, 3, "'at' is missing", "at: {x: 0 m", false},
    {"at-and-place", 26, 5, "'place' cannot be combined with 'at'", "keep one", false},
    {"place-without-count", 23, 3, "'place' needs 'count'", "count: 10", false},
    {"two-shapes", 25, 65, "'line' cannot be combined with 'circle'", "keep one", false},
    {"no-shape", 25, 5, "'place' has no shape", "circle", false},
    {"unknown-key-of-a-line", 25, 68, "unknown key 'height'", "a line has from and to", false},
    {"points-and-count", 25, 13, "there are 1 points for 4 nodes", "'count'", false},
    {"flat-polygon", 25, 13, "these corners enclose no area", "three corners", false},
    {"polygon-around-twice", 25, 13, "these corners enclose no area", "three corners", false},
    {"polygon-around-a-pole", 25, 13, "this polygon goes around a pole", "both sides of the pole",
     false},
    {"corners-half-the-earth-apart", 25, 60, "these corners are half the earth apart",
     "less than 180 deg of longitude", false},
    {"latitude-beyond-the-pole", 21, 15, "'90.1 deg' is out of range", "-90 deg to 90 deg", false},
    {"polygon-too-narrow", 25, 13, "it would take too long to find places in this polygon",
     "fewer nodes, fewer corners", false},
    {"redraw-of-given-places", 25, 79,
     "'redraw' does not apply to a grid: its places are not random", "circle, rectangle", false},
    {"half-a-place", 17, 5, "a place needs x and y, or lat and lon", "{lat: 10 deg", false},
    {"two-forms-of-place", 17, 5, "this place is in lat and lon, others in x and y", "one form",
     false},
    {"sector-without-azimuth", 18, 48, "'azimuth' is missing", "a sector", false},
    {"sector-without-beamwidth", 18, 48, "'beamwidth' is missing", "a sector", false},
    {"table-that-is-not-there", 25, 20, "'garden.csv' cannot be read: No such file or directory",
     "relative to the folder of the scenario", false},
    {"too-many-nodes", 23, 3, "there are too many nodes", "at most 100000", false},
    {"reserved-name", 20, 3, "'nobody' is a reserved word", "another name", true},
    {"name-taken-by-group", 27, 3, "the name 'soil-2' is taken", "must differ", false},
    {"group-name-taken", 27, 33, "the name 'soil' is taken", "must differ", false},
    {"group-holds-itself", 27, 46, "group 'people' contains itself", "cannot contain itself",
     false},
    {"group-of-unknown", 27, 32, "there is no node or group 'ridgy'", "did you mean 'ridge'?",
     false},
    {"beyond-the-group", 37, 30, "there is no node or group 'soil-9'",
     "'soil' has soil-1 to soil-4", false},
    {"link-without-ends", 29, 5, "a link needs either 'between' or 'from' and 'to'",
     "between: [A, B]", false},
    {"link-to-itself", 29, 5, "a link joins two nodes", "'isolation'", false},
    {"link-of-three", 29, 15, "'between' must name two, not 3", "between: [A, B]", false},
    {"table-that-is-a-folder", 28, 16, "'.' cannot be read: it is not a plain file", "relative to",
     false},
    {"table-with-a-loss", 29, 24, "unknown key 'loss'", "a table of links has table", true},
    {"ambient-nowhere", 29, 5, "ambient traffic is either 'at' a place or 'everywhere'",
     "everywhere: yes", false},
    {"candidate-that-sends", 37, 16, "'ridge' is a candidate that is not built",
     "'candidate: no' builds it", false},
    {"candidate-that-receives", 37, 35, "'ridge' is a candidate that is not built",
     "a group may name it", false},
    {"candidate-on-a-route", 38, 50, "'ridge' is a candidate that is not built",
     "'candidate: no' builds it", false},
    {"candidate-neither-yes-nor-no", 20, 16, "'perhaps' is neither yes nor no", "yes or no", false},
    {"candidate-of-another-entry", 25, 25, "'soil' has no node 'soil-5'",
     "yes, no, or a list of nodes of this entry", false},
    {"candidate-twice", 25, 25, "'soil-2' is named twice", "each once", false},
    {"candidate-bridge-without-radio", 30, 36,
     "'ridge' has no radio on 'yard' (with all candidates built)",
     "a bridge has a radio on both bearers", false},
    {"outages-of-unknown", 28, 18, "there is no node or group 'rigde'", "did you mean 'ridge'?",
     false},
    {"outages-in-both-forms", 28, 11, "an outage needs either 'at' and 'for' or 'mean-between'",
     "at: 2 h, for: 30 min", false},
    {"outages-without-end", 28, 11, "an outage needs either 'at' and 'for'", "mean-between: 10 day",
     false},
    {"outages-never", 28, 11, "an outage needs either 'at' and 'for'", "at: 2 h", false},
    {"outages-before-the-start", 28, 29, "'-1 min' is out of range", "0 s", false},
    {"outages-of-no-length", 28, 41, "'0 s' is out of range", "1 us", false},
    {"outages-all-the-time", 28, 39, "'0 s' is out of range", "1 us", false},
    {"outages-of-nobody", 28, 11, "'node' is missing", "an outage needs 'node'", false},
    {"outages-as-a-map", 28, 10, "'outages' must be a list", NULL, false},
    {"outages-too-often", 28, 1, "the traffic would meet 7.2e+09 outages of nodes",
     "at most 100000000 in a run", false},
    {"moves-nowhere", 18, 5, "'along' is missing", "a node that moves needs 'along'", false},
    {"moves-along-nothing", 18, 20, "this way has 0 points", "along: [{x: 500 m, y: 0 m}]", false},
    {"moves-at-no-speed", 18, 47, "'0 m/s' is out of range", "0.001 m/s to 1000 m/s", false},
    {"moves-at-less-than-no-speed", 18, 47, "'-5 km/h' is out of range", "0.001 m/s to 1000 m/s",
     false},
    {"moves-too-fast", 18, 47, "'3601 km/h' is out of range", "0.001 m/s to 1000 m/s", false},
    {"moves-at-infinite-speed", 18, 47, "'inf m/s' is not a speed", "a finite number", false},
    {"moves-without-unit", 18, 47, "'1.4' has no unit", "m/s or km/h", false},
    {"moves-without-speed", 18, 5, "'speed' is missing", "a node that moves needs 'speed'", false},
    {"moves-typo", 18, 55, "unknown key 'bakc'", "did you mean 'back'?", false},
    {"moves-up", 18, 38, "a node keeps its height above ground", "'at' or 'place'", false},
    {"moves-as-a-list", 18, 12, "'moves' must be a map, not a list", "{key: value}", false},
    {"moves-half-a-place", 18, 21, "a place needs x and y, or lat and lon", "{x: 0 m, y: 0 m}",
     false},
    {"moves-on-another-globe", 18, 21, "this place is in lat and lon", "one form", false},
    {"moves-before-the-start", 18, 61, "'-1 min' is out of range", "0 s", false},
    {"moves-in-too-many-steps", 15, 1, "the nodes would move by 3.6e+07 steps", "move-step: 1 m",
     false},
    {"move-step-of-no-length", 2, 33, "'0.05 m' is out of range", "0.1 m to 100 km", false},
    {"decorrelation-of-no-length", 9, 93, "'0 m' is out of range", "0.1 m to 100 km", false},
    {"terrain-that-is-not-there", 28, 22, "hills.tif' cannot be read: No such file or directory",
     "relative to the folder of the scenario", false},
    {"terrain-that-is-a-folder", 28, 22, "cannot be read: it is not a plain file",
     "relative to the folder of the scenario", false},
    {"terrain-without-elevation", 28, 1, "'elevation' is missing", "terrain needs 'elevation'",
     false},
    {"terrain-of-no-earth", 28, 46, "'0' is out of range", "0.1 to 1000000", false},
    {"doubt-no-bounds", 28, 27, "'nodes.soil.count' needs two bounds", "as in [2.8, 3.6]", false},
    {"doubt-order", 28, 38, "the upper bound must be above the lower", "the lowest and the highest",
     false},
    {"doubt-units", 28, 35, "the units differ", "[4 dB, 8 dB]", false},
    {"doubt-of-run", 28, 9, "'run.duration' cannot be an uncertain input", "as in bearers.valley",
     false},
    {"doubt-out-of-range", 28, 47, "'13' is out of range", "5 to 12", false},
    {"doubt-unknown-node", 28, 9, "'nodes' has no 'sail'", "did you mean 'soil'?", false},
    {"doubt-no-number", 28, 28, "'yard' must begin with a number", "2.5 km", true},
    {"listens-without-every", 18, 38, "'every' is missing", "'listens' needs 'every'", false},
    {"listens-without-for", 18, 38, "'for' is missing", "'listens' needs 'for'", false},
    {"listens-all-the-time", 18, 65, "'for' (2 s) must be shorter than 'every' (2 s)",
     "without 'listens' a radio is always awake", false},
    {"listens-longer-than-it-sleeps", 18, 65, "'for' (1 min) must be shorter than 'every' (2 s)",
     "without 'listens' a radio is always awake", false},
    {"listens-too-often", 18, 55, "'10 us' is out of range", "1 ms to", false},
    {"listens-too-seldom", 18, 55, "'20000 day' is out of range", "1 ms to", false},
    {"listens-for-no-time", 18, 65, "'0 s' is out of range", "1 us to", false},
    {"listens-before-sending", 18, 85, "'-1 s' is out of range", "0 s to", false},
    {"listens-of-no-phase", 18, 77, "'togehter' is not a valid value for 'phase'",
     "did you mean 'together'?", false},
    {"listens-at-once", 18, 47, "'listens' must be a map, not a single value", "{key: value}",
     false},
    {"listens-at-all", 18, 60, "unknown key 'four'", "did you mean 'for'?", true},
    {"unknown-recipient", 36, 28, "there is no node or group 'peopel'", "did you mean 'people'?",
     false},
    {"everyone-misspelled", 36, 28, "there is no node or group 'everyon'",
     "did you mean 'everyone'?", false},
    {"from-everyone", 36, 17, "'everyone' can only be a recipient", "name a group", false},
    {"never-sent", 36, 3, "'talk' does not say when it is sent",
     "every, mean-interval, at or follows", false},
    {"sent-twice", 36, 69, "'at' cannot be combined with 'every'", "keep one", false},
    {"phase-without-every", 36, 77, "'phase' does not apply here", "it needs 'every'", false},
    {"spread-too-wide", 36, 77, "reorder messages", "at most half", false},
    {"too-many-messages", 35, 1, "the traffic would offer", "at most 1000000000", false},
    /* 3600 s / 20 ms = 180,000 of each of 2, to 902 nodes (with themselves) */
    {"too-many-pairs", 35, 1, "the traffic would make 3.25e+08 pairs", "at most 200000000", false},
    /* 3000 day / 700 ms = 3.7e8 of each of 2, and what 900 nodes send every day, by 901 relays and
     * the source */
    {"too-many-transmissions", 36, 1, "would make up to 6.7e+11 transmissions",
     "at most 100000000000", false},
    {"too-many-senders", 35, 1, "the traffic would have 2.07e+06 senders", "at most 2000000",
     false},
    /* half of 3000 day, in bursts of 1 ms */
    {"too-many-bursts", 38, 1, "would compete with 1.3e+11 bursts", "at most 100000000000", false},
    /* 3600 s / 100 us of each of 4 */
    {"too-many-followed", 40, 1, "would have 1.44e+08 messages followed", "at most 100000000",
     false},
    {"acknowledge-without-time", 36, 66, "'within' is missing", "acknowledge needs 'within'",
     false},
    {"acknowledge-of-several", 36, 26, "'talk' from 'gate' has 5", "name one node", false},
    {"acknowledge-oneself", 36, 28, "'talk' from 'ridge' has 0", "leave it out of 'from'", false},
    {"acknowledge-nobody", 36, 26, "'talk' from 'gate' has 0", "name one node", false},
    {"acknowledge-no-try", 36, 100, "'0' is out of range", "1 to 1000", false},
    {"acknowledge-many-tries", 36, 100, "'1001' is out of range", "1 to 1000", false},
    {"acknowledge-number", 36, 79, "'acknowledge' must be a map", NULL, false},
    {"acknowledge-no-unit", 36, 88, "'5' has no unit", "a time needs a unit", false},
    {"acknowledge-at-once", 36, 88, "'0 s' is out of range", "1 us to", false},
    {"acknowledge-typo", 36, 93, "unknown key 'trys'", "within, tries and payload", false},
    {"route-unanswered", 36, 40, "without acknowledgements no route is learned", "'acknowledge'",
     false},
    {"route-unknown", 36, 40, "'shortest' is not a valid value for 'route'", "flood or source",
     false},
    {"route-as-a-list", 36, 40, "'route' must be a word or a map, not a list", "along: [a, b]",
     false},
    {"route-empty", 36, 48, "a route has 1 to 64 entries, not 0", "the last is the recipient",
     false},
    {"route-of-65", 36, 48, "a route has 1 to 64 entries, not 65", "the last is the recipient",
     false},
    {"route-without-along", 36, 33, "'along' is missing", "a route needs 'along'", false},
    {"route-unknown-node", 36, 49, "there is no node or group 'rigde'", "did you mean 'ridge'?",
     false},
    {"route-of-a-group", 36, 48, "'soil' stands for 4 nodes", "one by one", false},
    {"route-to-itself", 36, 56, "the route leads from 'ridge' to itself", "the next node", false},
    {"route-from-itself", 36, 49, "the route leads from 'gate' to itself", "the next node", false},
    {"route-home", 36, 55, "the route ends at its source 'gate'", "'back: yes'", false},
    {"route-past-the-recipient", 36, 26, "'to' must be the last node of the route", "soil-1",
     false},
    {"route-to-nobody", 36, 26, "'to' must be the last node of the route", "ridge", false},
    {"route-without-a-bearer", 36, 51, "'ridge' and 'soil-1' have no bearer in common",
     "give both a radio", false},
    {"route-on-another-bearer", 36, 49, "'gate' and 'ridge' do not both have a radio on 'yard'",
     "on which both have a radio", false},
    {"route-on-two-bearers", 36, 67, "'on' must be a single value, not a list", "without brackets",
     false},
    {"route-acknowledged", 36, 61, "a probe along a given route is not acknowledged", "'back: yes'",
     false},
    {"follows-a-word", 36, 61, "'follows' must be a map, not a single value", "{key: value}",
     false},
    {"follows-unknown", 36, 71, "there is no traffic 'moistur'", "did you mean 'moisture'?", false},
    {"follows-nothing", 36, 52, "'traffic' is missing", "follows needs 'traffic'", false},
    {"follows-too-much", 36, 88, "'120 %' is out of range", "0 % to 100 %", false},
    {"follows-itself", 36, 71, "'talk' follows itself without end", "a smaller 'share'", false},
    {"follows-in-a-circle", 37, 74, "'moisture' follows itself without end", "a smaller 'share'",
     false},
    {"unknown-class-beside-priority", 35, 26, "there is no class 'alarn'", "did you mean 'alarm'?",
     false},
    {"class-twice-in-priority", 27, 18, "'priority' lists class 'talk' twice", "each class once",
     false},
    {"on-unknown-bearer", 36, 73, "there is no bearer 'yord'", "did you mean 'yard'?", false},
    {"on-bearer-far-from-any", 36, 73, "there is no bearer 'm'", "known: valley and yard", false},
    {"to-far-from-any", 36, 28, "there is no node or group 'herd'",
     "known: ridge, gate, soil, people and 4 more", false},
    {"reaches-far-from-any", 41, 30, "there is no node 'herd'", "known: gate, ridge and 4 more",
     false},
    {"to-one-of-many", 36, 28, "there is no node or group 'herd'",
     "known: ridge, gate, soil, people, a, b, c, d and 6 more", false},
    {"bridge-of-unknown", 29, 3, "there is no node or group 'gote'", "did you mean 'gate'?", true},
    {"bridge-without-radio", 31, 13, "node 'ridge' has no radio on 'yard'", "a radio on both",
     true},
    {"crossing-to-itself", 32, 11, "a crossing must lead to another bearer", "'relay'", false},
    {"rule-without-do", 34, 11, "'do' is missing", "a rule needs 'do'", false},
    {"unknown-action", 34, 37, "'hold-bock' is not a valid value for 'do'",
     "did you mean 'hold-back'?", false},
    {"unknown-condition", 34, 19, "unknown key 'clas'", "did you mean 'class'?", false},
    {"unknown-class", 34, 26, "there is no class 'tolk'", "did you mean 'talk'?", false},
    {"unknown-traffic-in-rule", 34, 35, "there is no traffic 'moistur'", "did you mean 'moisture'?",
     false},
    {"empty-bounds", 34, 19, "no 'size' lies between these bounds", "less than 'below'", false},
    {"no-bounds", 34, 19, "'hops' has no bound", "above, below", false},
    {"thin-more-than-all", 34, 38, "'keep' is 4, 'of' only 3", "at most the value of 'of'", false},
    {"limit-without-rate", 34, 38, "'rate' is missing", "a limit needs 'rate'", false},
    {"digest-without-every", 34, 38, "'every' is missing", "a digest needs 'every'", false},
    {"delay-without-bound", 34, 38, "'at-most' is missing", "a delay needs 'at-most'", false},
    {"two-actions", 34, 62, "'delay' cannot be combined with 'digest'", "keep one of them", false},
    {"variant-called-base", 39, 3, "'base' is the scenario without a variant", "another name",
     false},
    {"variant-without-set", 39, 3, "'set' is missing", "a variant needs 'set'", false},
    {"variant-sets-variants", 39, 16, "a variant cannot set 'variants.open.summary'", NULL, false},
    {"variant-path-leads-nowhere", 39, 16,
     "'nodes.soil.count' is a single value: it has no 'x' (in variant 'open')", NULL, false},
    {"variant-unknown-key", 39, 16, "unknown key 'cuont'", "did you mean 'count'?", false},
    {"variant-bad-value", 39, 34, "'many' is not a whole number (in variant 'open')", "digits only",
     false},
    {"unknown-measure", 41, 15, "there is no measure 'delivry'", "did you mean 'delivery'?", false},
    {"measure-of-what", 41, 15, "'delivery' of what?", "with 'traffic'", false},
    {"measure-of-the-wrong-thing", 41, 15, "'delivery' is not counted by these keys",
     "with 'traffic'", false},
    {"bound-of-the-wrong-unit", 41, 52, "'%' is not a unit of a time",
     "ns, us, ms, s, min, h or day", false},
    {"no-bound", 41, 5, "this expectation has no bound", "at-least or at-most", false},
    {"value-and-change", 41, 5, "bounds a value or a change, not both", "versus with", false},
    {"crossed-bounds", 41, 65, "no value lies between these bounds", "lower bound", false},
    {"unknown-variant", 41, 65, "there is no variant 'opan'", "did you mean 'open'?", false},
    {"expect-nothing", 41, 5, "this expectation says nothing to judge", "reaches", false},
    {"reaches-without-within", 41, 5, "'within' is missing", "within: 5 s", false},
    {"reaches-unknown-node", 41, 30, "there is no node 'ridje'", "did you mean 'ridge'?", false},
    {"never-within", 41, 37, "'within' does not apply here", "it applies to 'reaches'", false},
    {"size-backwards", 40, 45, "'to' is less than 'from'", "the smaller to the larger", false},
    {"size-path-leads-nowhere", 40, 14, "'nodes' has no 'sail' (with nodes.sail.count varied)",
     "did you mean 'soil'?", false},
    {"sweep-without-step", 41, 5, "'step' is missing", "a sweep needs 'step'", false},
    {"sweep-of-two-ways", 41, 46, "'from' does not apply here",
     "it applies to 'from', 'to' and 'step'", false},
    {"sweep-of-two-units", 41, 52, "the units differ", "the same unit", false},
    {"sweep-bad-value", 41, 42, "'few' is not a whole number (with nodes.soil.count varied)",
     "digits only", false},
    {"sweep-of-variants", 41, 12, "'variants.open' cannot be varied", "nodes.soil.count", false},
    {"not-yaml", 3, 8, "this is not YAML: did not find expected ',' or '}'", NULL, false},
    {"empty", 1, 1, "the file is empty", "spate new", false},
    {"only-a-word", 1, 1, "a scenario is a map of keys", "spate: 1", false},
    {"two-documents", 42, 1, "a second document begins here", NULL, false},
    {"invalid-utf8", 2, 8, "this is not UTF-8", "as UTF-8 text", false},
    {"nul-byte", 2, 9, "NUL", NULL, false},
    {"deep-nesting", 1, 71, "the nesting is too deep", "at most 64 levels", false},
    {"alias-bomb", 6, 29, "aliases expand to too many values", "100000", false},
    {"tag", 2, 8, "tags (!...) are not part of a scenario", NULL, false},
    {"merge-key", 3, 9, "merge keys are not part of a scenario", "write the keys out", false},
};

static char *
fault_of(const char *name, int *n_faults)
{
    g_autoptr(GError) error = NULL;
    g_autofree char *path = g_strdup_printf("%s/bad/%s.yaml", SCENARIO_DIR, name);
    g_autofree char *text = NULL;
    gsize length = 0;
    ck_assert_msg(g_file_get_contents(path, &text, &length, NULL), "no file %s", path);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, length, NULL, 0, &error);
    ck_assert_msg(file == NULL, "%s reads well", name);
    ck_assert_ptr_nonnull(error);
    ck_assert(g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_BAD));
    *n_faults = 0;
    for (const char *at = error->message; (at = strstr(at, "f.yaml:")) != NULL; at++)
        (*n_faults)++;
    return g_strdup(error->message);
}

/* The one fault of the file at its place. */
START_TEST(the_fault_is_shown_at_its_place_with_a_hint)
{
    const Row *row = &ROWS[_i];
    int n_faults;
    g_autofree char *message = fault_of(row->file, &n_faults);
    g_autofree char *head = g_strdup_printf("f.yaml:%d:%d: ", row->line, row->column);

    const char *at = strstr(message, head);
    ck_assert_msg(at != NULL, "%s: no '%s' in:\n%s", row->file, head, message);
    g_autofree char *line = g_strndup(at, strcspn(at, "\n"));
    ck_assert_msg(strstr(line, row->message) != NULL, "%s: no '%s' in:\n%s", row->file,
                  row->message, message);
    ck_assert_msg(row->hint == NULL || strstr(at, row->hint) != NULL, "%s: no '%s' in:\n%s",
                  row->file, row->hint, message);
    if (!row->has_others)
        ck_assert_msg(n_faults == 1, "%s: more than one fault:\n%s", row->file, message);
}
END_TEST

/* Every file of the folder has its row. */
START_TEST(no_bad_file_is_forgotten)
{
    g_autofree char *path = g_strdup_printf("%s/bad", SCENARIO_DIR);
    g_autoptr(GDir) folder = g_dir_open(path, 0, NULL);
    size_t n_files = 0;
    ck_assert_ptr_nonnull(folder);
    while (g_dir_read_name(folder) != NULL)
        n_files++;

    ck_assert_uint_eq(n_files, G_N_ELEMENTS(ROWS));
}
END_TEST

START_TEST(all_faults_of_a_file_are_shown_in_its_order)
{
    g_autoptr(GError) error = NULL;
    const char text[] =
        "spate: 1\nrun: {duration: 1 km}\nbearers:\n  v: {kind: dsss, frequency: 2437 "
        "MHz, colour: red}\nnodes:\n  a: {at: {x: 0 m}}\n  b: {at: {x: 0 m, y: 0 m}, "
        "radios: {w: {power: 1 dBm}}}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);

    ck_assert_ptr_null(file);
    const char *first = strstr(error->message, "f.yaml:2:17: ");
    const char *second = strstr(error->message, "f.yaml:4:40: unknown key 'colour'");
    const char *third = strstr(error->message, "f.yaml:6:7: ");
    const char *fourth = strstr(error->message, "f.yaml:7:38: there is no bearer 'w'");
    ck_assert_msg(first != NULL && second > first && third > second && fourth > third, "%s",
                  error->message);
}
END_TEST

static char *
faults_of_text(const char *text)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);
    ck_assert_ptr_null(file);
    return g_strdup(error->message);
}

/* Two faults of one map that do not follow from each other. */
START_TEST(one_fault_hides_no_other)
{
    g_autofree char *message = faults_of_text(
        "spate: 1\nrun: {duration: 1 h}\nbearers:\n"
        "  y: {kind: dsss, frequency: 2437 MHz, rate: 300 kbit/s, access: {method: "
        "cad}, spreading-factor: 7}\n"
        "flooding: {policy: counter, jitter: {at-most: 6 symbols}}\n"
        "nodes: {a: {at: {x: 0 m, y: 0 m}, flooding: {policy: probability, p: x}}}\n");

    static const char *const faults[] = {
        "f.yaml:4:46: no dsss radio has that rate", "f.yaml:4:75: 'cad' is for lora bearers",
        "f.yaml:4:81: 'spreading-factor' does not apply",
        "f.yaml:5:1: policy 'counter' needs 'copies'", "f.yaml:5:47: "};
    for (size_t i = 0; i < G_N_ELEMENTS(faults); i++)
        ck_assert_msg(strstr(message, faults[i]) != NULL, "no '%s' in:\n%s", faults[i], message);
    /* What is there but bad is not missing. */
    ck_assert_msg(strstr(message, "needs 'p'") == NULL, "%s", message);
}
END_TEST

/* What could not be read is the fault, not that others name it. */
START_TEST(no_fault_follows_from_another)
{
    static const struct {
        const char *bearers, *nodes, *traffic, *fault;
    } cases[] = {
        {"{y: {kind: dsss, frequency: 2437 MHz}}", "5", "{t: {class: c}}", "'nodes' must be a map"},
        {"{y: {kind: dsss, frequency: 2437 MHz}}", "{soil: 5}", "{}", "a node must be a map"},
        {"{y: {kind: dsss, frequency: 2437 MHz}}", "{soil: {count: no, at: {x: 0 m, y: 0 m}}}",
         "{}", "'no' is not a whole number"},
        {"5", "{soil: {count: 2, at: {x: 0 m, y: 0 m}, radios: {y: {power: 1 dBm}}}}", "{}",
         "'bearers' must be a map"},
        {"{y: {kind: dsss, frequency: 2437 MHz}}", "{soil: {count: 2, at: {x: 0 m, y: 0 m}}}", "5",
         "'traffic' must be a map"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *text =
            g_strdup_printf("spate: 1\nrun: {duration: 1 h}\nbearers: %s\nnodes: %s\ntraffic: %s\n"
                            "groups: {people: [soil-1]}\npriority: [c]\n"
                            "expect: [{measure: delivery, traffic: t, at-least: 90 %%}]\n",
                            cases[i].bearers, cases[i].nodes, cases[i].traffic);
        g_autofree char *message = faults_of_text(text);
        ck_assert_msg(strstr(message, cases[i].fault) != NULL, "%s", message);
        const char *unknown = strstr(message, "there is no node");
        ck_assert_msg(unknown == NULL && strstr(message, "there is no bearer") == NULL, "%s",
                      message);
        bool knows_traffic = i < 4;
        ck_assert_msg((strstr(message, "there is no traffic") != NULL) == (i > 0 && knows_traffic),
                      "%zu: %s", i, message);
    }
}
END_TEST

/* Radios on a bearer that is not there, groups without a usable name, actions that are not known.
 */
START_TEST(no_fault_follows_from_a_bad_name)
{
    static const struct {
        const char *radios, *group, *action;
        const char *fault;
    } cases[] = {
        {"{w: {power: 1 dBm}}", "people", "pass", "there is no bearer 'w'"},
        {"[v]", "people", "pass", "'radios' must be a map"},
        {"{v: {power: 1 dBm}}", "'a b'", "pass", "'a b' is not a valid name"},
        {"{v: {power: 1 dBm}}", "nobody", "pass", "'nobody' is a reserved word"},
        {"{v: {power: 1 dBm}}", "people", "{limt: {rate: 1/min}}", "unknown key 'limt'"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *text = g_strdup_printf(
            "spate: 1\nrun: {duration: 1 h}\nbearers: {v: {kind: dsss, frequency: 2437 MHz}, "
            "u: {kind: dsss, frequency: 2462 MHz}}\n"
            "nodes: {gate: {at: {x: 0 m, y: 0 m}, radios: %s, relay: v}}\n"
            "groups: {%s: [gate]}\n"
            "traffic: {t: {from: %s, to: gate, payload: 9 bytes, every: 5 min}}\n"
            "flooding: {rules: [{when: {occupancy: {bearer: v, above: 10 %%}}, do: %s}]}\n",
            cases[i].radios, cases[i].group, cases[i].group, cases[i].action);
        g_autofree char *message = faults_of_text(text);
        ck_assert_msg(strstr(message, cases[i].fault) != NULL, "%zu: %s", i, message);
        const char *first = strstr(message, "f.yaml:");
        ck_assert_msg(strstr(first + 1, "f.yaml:") == NULL, "%zu: more than one:\n%s", i, message);
    }
}
END_TEST

/* A hint names nothing that would be refused next, and leaves nothing out. */
START_TEST(hints_name_what_can_be_used)
{
    static const struct {
        const char *part, *hint;
    } cases[] = {
        {"zzz: {}", "a scenario has spate, title"},
        {"terrein: {}", "did you mean 'terrain'?"},
        {"flooding: {rules: [{do: limt}]}", "as in do: {limit: {rate: 2/min}}"},
        {"flooding: {rules: [{do: thin}]}", "as in do: {thin: {keep: 1, of: 4}}"},
        {"flooding: {rules: [{do: forward}]}",
         "pass, hold-back, or a map of limit, thin, digest or delay"},
        {"flooding: {rules: [{do: {hold-back: yes}}]}", "write do: hold-back"},
        {"flooding: {rules: [{do: {}}]}",
         "pass, hold-back, or a map of limit, thin, digest or delay"},
        {"traffic: {t: {from: a, to: a, payload: 9 bytes, every: 1 min, route: sourc}}",
         "did you mean 'source'?"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(cases); i++) {
        g_autofree char *text = g_strdup_printf(
            "spate: 1\nrun: {duration: 1 h}\nbearers: {v: {kind: dsss, frequency: 2437 MHz}}\n"
            "nodes: {a: {at: {x: 0 m, y: 0 m}, radios: {v: {power: 1 dBm}}}}\n%s\n",
            cases[i].part);
        g_autofree char *message = faults_of_text(text);
        ck_assert_msg(strstr(message, cases[i].hint) != NULL, "%zu: %s", i, message);
        ck_assert_ptr_null(strstr(strstr(message, "f.yaml:") + 1, "f.yaml:"));
    }
}
END_TEST

/* One that is known otherwise is still a fault. */
START_TEST(unknown_names_show_beside_an_entry_that_cannot_be_read)
{
    g_autofree char *message = faults_of_text("spate: 1\nrun: {duration: 1 h}\n"
                                              "bearers: {y: {kind: dsss, frequency: 2437 MHz}}\n"
                                              "nodes: {soil: {count: no, at: {x: 0 m, y: 0 m}}}\n"
                                              "groups: {people: [soil-1, soils]}\n");

    ck_assert_msg(strstr(message, "there is no node or group 'soils'") != NULL, "%s", message);
    ck_assert_msg(strstr(message, "'soil-1'") == NULL, "%s", message);
}
END_TEST

/* A fault of the file itself is not told again for each variant; one that a variant makes names it.
 */
START_TEST(faults_that_a_variant_makes_name_it)
{
    g_autoptr(GError) error = NULL;
    const char text[] =
        "spate: 1\nrun: {duration: 1 h}\nbearers:\n  v: {kind: dsss, frequency: 2437 MHz}\n"
        "nodes:\n  a:\n    count: 2\n    place: {points: [{x: 0 m, y: 0 m}, {x: 9 m, y: 0 "
        "m}]}\n"
        "colour: red\n"
        "variants:\n  many: {set: {nodes.a.count: 3}}\n  same: {set: {seed: 3}}\n";
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, strlen(text), NULL, 0, &error);

    ck_assert_ptr_null(file);
    const char *colour = strstr(error->message, "unknown key 'colour'\n");
    ck_assert_msg(colour != NULL && strstr(colour + 20, "key 'colour'") == NULL, "%s",
                  error->message);
    ck_assert_msg(strstr(error->message,
                         "f.yaml:8:13: there are 2 points for 3 nodes (in variant 'many')") != NULL,
                  "%s", error->message);
}
END_TEST

/* Cut anywhere, changed anywhere: it reads or it says why, and it ends. */
static void
read_whatever(const char *text, size_t length)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text, length, NULL, 0, &error);
    ck_assert((file == NULL) == (error != NULL));
}

static char *
good_text(gsize *length)
{
    g_autofree char *path = g_strdup_printf("%s/good/every-key.yaml", SCENARIO_DIR);
    char *text = NULL;
    ck_assert(g_file_get_contents(path, &text, length, NULL));
    return text;
}

/* A third of the beginnings and a seventh of the bytes: tests/fuzz tries far more. */
START_TEST(any_beginning_of_a_file_is_answered)
{
    gsize length;
    g_autofree char *text = good_text(&length);
    for (gsize i = 0; i < length; i += 3 * ONE_DRAW_IN)
        read_whatever(text, i);
}
END_TEST

START_TEST(any_changed_byte_is_answered)
{
    static const char strange[] = "\0\n\t :-[]{}*&!|>'\"%@`#,?\x80\xff";
    gsize length;
    g_autofree char *text = good_text(&length);
    for (gsize i = 0; i < length; i += 7 * ONE_DRAW_IN) {
        char was = text[i];
        text[i] = strange[i / (7 * ONE_DRAW_IN) % (sizeof strange - 1)];
        read_whatever(text, length);
        text[i] = was;
    }
}
END_TEST

/* Without a line, what refers to it must complain and not crash. */
START_TEST(any_missing_line_is_answered)
{
    gsize length;
    g_autofree char *text = good_text(&length);
    g_auto(GStrv) lines = g_strsplit(text, "\n", -1);
    size_t n_lines = g_strv_length(lines);
    for (size_t i = 0; i < n_lines; i += ONE_DRAW_IN) {
        GString *rest = g_string_new(NULL);
        for (size_t k = 0; lines[k] != NULL; k++)
            if (k != i)
                g_string_append_printf(rest, "%s\n", lines[k]);
        read_whatever(rest->str, rest->len);
        g_string_free(rest, TRUE);
    }
}
END_TEST

START_TEST(a_file_that_is_not_there_is_unreadable)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_read("no/such/file.yaml", NULL, 0, &error);

    ck_assert_ptr_null(file);
    ck_assert(g_error_matches(error, SPATE_SCENARIO_ERROR, SPATE_SCENARIO_ERROR_UNREADABLE));
    ck_assert_ptr_nonnull(strstr(error->message, "no/such/file.yaml: cannot be read"));
}
END_TEST

/* Endless input ends at the largest size of a scenario. */
START_TEST(an_endless_file_is_refused)
{
    g_autoptr(GError) error = NULL;
    g_autoptr(SpateScenarioFile) file = spate_scenario_file_read("/dev/zero", NULL, 0, &error);

    ck_assert_ptr_null(file);
    ck_assert_ptr_nonnull(error);
}
END_TEST

/* Names that stand for ever more nodes, each line ten times the one before. */
START_TEST(groups_cannot_use_up_memory)
{
    g_autoptr(GError) error = NULL;
    GString *text = g_string_new(
        "spate: 1\nrun: {duration: 1 h}\nbearers:\n  v: {kind: dsss, frequency: 2437 MHz}\n"
        "nodes:\n  a: {count: 100000, at: {x: 0 m, y: 0 m}, radios: {v: {power: 1 dBm}}}\n"
        "traffic:\n");
    for (int i = 0; i < 2000; i++)
        g_string_append_printf(
            text, "  t%d: {from: a, to: everyone, payload: 1 bytes, every: 1 day}\n", i);
    g_autoptr(SpateScenarioFile) file =
        spate_scenario_file_parse("f.yaml", text->str, text->len, NULL, 0, &error);
    g_string_free(text, TRUE);

    ck_assert_ptr_null(file);
    ck_assert_ptr_nonnull(strstr(error->message, "groups are named so often"));
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("bad files");
    TCase *places = tcase_create("places");
    tcase_add_loop_test(places, the_fault_is_shown_at_its_place_with_a_hint, 0,
                        (int)G_N_ELEMENTS(ROWS));
    tcase_add_test(places, no_bad_file_is_forgotten);
    tcase_add_test(places, all_faults_of_a_file_are_shown_in_its_order);
    tcase_add_test(places, one_fault_hides_no_other);
    tcase_add_test(places, no_fault_follows_from_another);
    tcase_add_test(places, no_fault_follows_from_a_bad_name);
    tcase_add_test(places, hints_name_what_can_be_used);
    tcase_add_test(places, unknown_names_show_beside_an_entry_that_cannot_be_read);
    tcase_add_test(places, faults_that_a_variant_makes_name_it);
    suite_add_tcase(suite, places);

    TCase *bounds = tcase_create("bounds");
    tcase_set_timeout(bounds, 120);
    tcase_add_test(bounds, any_beginning_of_a_file_is_answered);
    tcase_add_test(bounds, any_changed_byte_is_answered);
    tcase_add_test(bounds, any_missing_line_is_answered);
    tcase_add_test(bounds, a_file_that_is_not_there_is_unreadable);
    tcase_add_test(bounds, an_endless_file_is_refused);
    tcase_add_test(bounds, groups_cannot_use_up_memory);
    suite_add_tcase(suite, bounds);

    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int n_failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return n_failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
