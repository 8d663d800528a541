/* packet-capture.c - the frames of a run as a capture file */
#include "report/log/packet-capture.h"

#include "channel/medium.h"
#include "core/time.h"
#include "report/log/pcapng.h"
#include <math.h>

#define PORTION_BYTES 65536
#define NO_INTERFACE  UINT32_MAX

struct SpatePacketCapture {
    SpatePacketCaptureSettings settings;
    uint32_t *interface; /* by bearer (the air) or by radio; NO_INTERFACE: not captured */
    GByteArray *bytes;   /* blocks that are not handed on yet */
    GByteArray *packet;
};

/* ---- headers --------------------------------------------------------------------------------- */

static unsigned
as_byte(double value)
{
    return (unsigned)(int)fmin(fmax(round(value), -128.0), 255.0) & 0xffu;
}

/* LoRaTap version 0, big-endian: version, padding, length; frequency in Hz, bandwidth in steps of
 * 125 kHz, spreading factor; RSSI + 139 dBm of the packet, and twice more; SNR in quarters of a dB;
 * sync word (from memory of the header's public description).  What it cannot say is 0. */
static void
add_loratap(GByteArray *packet, const SpateBearer *bearer, double level_dbm)
{
    const SpateModulation *modulation = &bearer->modulation;
    double bandwidth_hz = modulation->kind->bandwidth_hz(modulation);
    double snr_db = level_dbm - spate_bearer_noise_dbm(bearer);
    /* Below the noise the field holds the RSSI less the SNR. */
    double rssi = 139.0 + level_dbm - fmin(snr_db, 0.0);
    bool is_known = !isnan(level_dbm);
    spate_append_be(packet, 1, 0);
    spate_append_be(packet, 1, 0);
    spate_append_be(packet, 2, 15);
    spate_append_be(packet, 4, (uint32_t)modulation->centre_hz);
    spate_append_be(packet, 1, (unsigned)(bandwidth_hz / 125e3));
    spate_append_be(packet, 1, (unsigned)modulation->spreading_factor);
    spate_append_be(packet, 1, is_known ? as_byte(fmax(rssi, 0.0)) : 0);
    spate_append_be(packet, 1, 0);
    spate_append_be(packet, 1, 0);
    spate_append_be(packet, 1, is_known ? as_byte(fmin(4.0 * snr_db, 127.0)) : 0);
    spate_append_be(packet, 1, 0x12); /* a private network, as the data sheets call it */
}

/* Radiotap (radiotap.org, from memory), little-endian: flags (FCS at the end), rate in 500 kbit/s
 * where there is one, channel, then signal in dBm or the power that it was sent with. */
static void
add_radiotap(GByteArray *packet, const SpateBearer *bearer, double level_dbm, double power_dbm)
{
    enum { FLAGS = 1 << 1, RATE = 1 << 2, CHANNEL = 1 << 3, SIGNAL = 1 << 5, POWER = 1 << 10 };
    enum { FCS_AT_END = 0x10, CCK = 0x20, GHZ_2 = 0x80 };
    bool is_known = !isnan(level_dbm);
    spate_append_le(packet, 1, 0);
    spate_append_le(packet, 1, 0);
    spate_append_le(packet, 2, 8 + 1 + 1 + 4 + 1);
    spate_append_le(packet, 4, FLAGS | RATE | CHANNEL | (is_known ? SIGNAL : POWER));
    spate_append_le(packet, 1, FCS_AT_END);
    spate_append_le(packet, 1, (unsigned)(bearer->modulation.rate_bps / 500000));
    spate_append_le(packet, 2, (unsigned)(bearer->modulation.centre_hz / 1000000));
    spate_append_le(packet, 2, CCK | GHZ_2);
    spate_append_le(packet, 1, as_byte(is_known ? level_dbm : power_dbm));
}

/* ---- frames ---------------------------------------------------------------------------------- */

/* CRC-32 of IEEE 802.3, as the FCS of 802.11 is. */
static uint32_t
frame_check(const guint8 *data, size_t n)
{
    uint32_t crc = UINT32_MAX;
    for (size_t i = 0; i < n; i++) {
        crc ^= data[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc >> 1 ^ (crc & 1u ? 0xedb88320u : 0);
    }
    return ~crc;
}

static void
add_content(GByteArray *packet, const SpateFrameFacts *frame)
{
    spate_append_be(packet, 4, frame->message.number);
    spate_append_be(packet, 2, frame->message.traffic & 0xffffu);
    spate_append_be(packet, 2, frame->message.origin & 0xffffu);
    spate_append_be(packet, 1, MIN(frame->hops, 255u));
    if (frame->message.about == frame->message.number)
        return;
    spate_append_be(packet, 4, frame->message.about);
    spate_append_be(packet, 1, MIN(frame->message.attempt, 255u));
}

/* Vendor-specific action frame (IEEE Std 802.11-2020, 9.6.5), to everyone; organisation 0 and type
 * 0 stand for the unpublished ones. */
static void
add_action_header(GByteArray *packet, const SpateFrameFacts *frame, uint32_t sender)
{
    static const guint8 EVERYONE[6] = {0xff, 0xff, 0xff, 0xff, 0xff, 0xff};
    enum { ACTION = 0xd0, VENDOR_SPECIFIC = 127, VENDOR_ELEMENT = 221 };
    spate_append_le(packet, 2, ACTION);
    spate_append_le(packet, 2, 0); /* duration */
    g_byte_array_append(packet, EVERYONE, sizeof EVERYONE);
    spate_append_be(packet, 2, 0x0200); /* locally administered, with the node's number */
    spate_append_be(packet, 4, sender);
    g_byte_array_append(packet, EVERYONE, sizeof EVERYONE);
    spate_append_le(packet, 2, (frame->message.number & 0xfffu) << 4);
    spate_append_le(packet, 1, VENDOR_SPECIFIC);
    spate_append_zeros(packet, 3 + 4); /* organisation, random value */
    spate_append_le(packet, 1, VENDOR_ELEMENT);
    spate_append_le(packet, 1, MIN(frame->message.payload_bytes + 5, 255u));
    spate_append_zeros(packet, 3 + 2); /* organisation, type and version */
}

/* Brings what was appended since `start` to the frame's length. */
static void
fit(GByteArray *packet, guint start, guint length)
{
    if (packet->len < start + length)
        spate_append_zeros(packet, start + length - packet->len);
    else
        g_byte_array_set_size(packet, start + length);
}

#define FCS_BYTES 4u

/* level_dbm: NAN if it is not known. */
static void
write_frame(SpatePacketCapture *capture, uint32_t interface, const SpateEvent *event,
            double level_dbm)
{
    const SpatePlan *plan = capture->settings.plan;
    const SpateFrameFacts *frame = event->frame;
    const SpateRadio *radio = &plan->radios[frame->radio];
    const SpateBearer *bearer = &plan->bearers[radio->bearer];
    GByteArray *packet = capture->packet;
    g_byte_array_set_size(packet, 0);
    if (bearer->modulation.kind == &spate_radio_lora) {
        add_loratap(packet, bearer, level_dbm);
        guint start = packet->len;
        add_content(packet, frame);
        fit(packet, start, frame->frame_bytes);
    } else {
        add_radiotap(packet, bearer, level_dbm, capture->settings.power_dbm[frame->radio]);
        guint start = packet->len;
        bool has_check = frame->frame_bytes > FCS_BYTES;
        guint length = frame->frame_bytes - (has_check ? FCS_BYTES : 0);
        add_action_header(packet, frame, radio->node);
        add_content(packet, frame);
        fit(packet, start, length);
        if (has_check)
            spate_append_le(packet, 4, frame_check(packet->data + start, length));
    }
    spate_pcapng_append_packet(capture->bytes, interface, event->at_ns, packet);
}

/* ---- listening ------------------------------------------------------------------------------- */

static void
hand_on(SpatePacketCapture *capture)
{
    if (capture->bytes->len > 0)
        capture->settings.sink(capture->settings.user, capture->bytes->data, capture->bytes->len);
    g_byte_array_set_size(capture->bytes, 0);
}

static void
see(gpointer self, const SpateEvent *event)
{
    SpatePacketCapture *capture = self;
    const bool *traffics = capture->settings.traffics;
    if (traffics != NULL && !traffics[event->message->traffic])
        return;
    if (event->kind == SPATE_EVENT_STARTED) {
        uint32_t bearer = capture->settings.plan->radios[event->radio].bearer;
        write_frame(capture, capture->interface[bearer], event, NAN);
    }
    for (size_t i = 0; event->kind == SPATE_EVENT_ENDED && i < event->n_receptions; i++) {
        const SpateReception *reception = &event->receptions[i];
        uint32_t interface = capture->interface[reception->receiver];
        if (interface != NO_INTERFACE && reception->outcome == SPATE_OUTCOME_RECEIVED)
            write_frame(
                capture, interface, event,
                spate_medium_level_dbm(event->medium, reception->receiver, reception->power));
    }
    if (capture->bytes->len >= PORTION_BYTES)
        hand_on(capture);
}

/* ---- construction ---------------------------------------------------------------------------- */

static void
add_interface(SpatePacketCapture *capture, uint32_t bearer, const char *name)
{
    bool is_lora = capture->settings.plan->bearers[bearer].modulation.kind == &spate_radio_lora;
    spate_pcapng_append_interface(
        capture->bytes, is_lora ? SPATE_LINKTYPE_LORATAP : SPATE_LINKTYPE_IEEE802_11_RADIOTAP,
        name);
}

SpatePacketCapture *
spate_packet_capture_new(const SpatePacketCaptureSettings *settings)
{
    SpatePacketCapture *capture = g_new0(SpatePacketCapture, 1);
    const SpatePlan *plan = settings->plan;
    capture->settings = *settings;
    capture->bytes = g_byte_array_sized_new(2 * PORTION_BYTES);
    capture->packet = g_byte_array_sized_new(512);
    spate_pcapng_append_section(capture->bytes, "spate " SPATE_VERSION);
    capture->interface = g_new(uint32_t, MAX(plan->n_radios, plan->n_bearers) + 1);
    for (uint32_t b = 0; settings->at_nodes == NULL && b < plan->n_bearers; b++) {
        capture->interface[b] = b;
        add_interface(capture, b, plan->bearer_names[b]);
    }
    uint32_t n = 0;
    for (uint32_t r = 0; settings->at_nodes != NULL && r < plan->n_radios; r++) {
        const SpateRadio *radio = &plan->radios[r];
        capture->interface[r] = NO_INTERFACE;
        if (!settings->at_nodes[radio->node])
            continue;
        g_autofree char *name = g_strdup_printf("%s %s", plan->nodes[radio->node].name,
                                                plan->bearer_names[radio->bearer]);
        capture->interface[r] = n++;
        add_interface(capture, radio->bearer, name);
    }
    return capture;
}

void
spate_packet_capture_free(SpatePacketCapture *capture)
{
    if (capture == NULL)
        return;
    hand_on(capture);
    g_byte_array_unref(capture->bytes);
    g_byte_array_unref(capture->packet);
    g_free(capture->interface);
    g_free(capture);
}

SpateObserver
spate_packet_capture_observer(SpatePacketCapture *capture)
{
    bool is_air = capture->settings.at_nodes == NULL;
    return (SpateObserver){is_air ? SPATE_EVENT_STARTED : SPATE_EVENT_ENDED, see, capture};
}
