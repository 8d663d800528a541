/* packet-capture.h - the frames of a run as a capture file, for readers of packets
 *
 * LoRa frames have a LoRaTap header, those of 2.4 GHz a radiotap header and stand as
 * vendor-specific action frames of IEEE 802.11.  Either the air is captured, one interface for each
 * bearer and each frame once, at its start; or some nodes are: one interface for each of their
 * radios, with the frames that it received, at their end, with their level.
 *
 * What a frame says is made up, since a simulation has no text: the number of the message,
 * the numbers of its traffic and its origin, and the transmissions so far, then zeros.
 */
#pragma once

#include "mesh/plan.h"
#include "spate/event.h"
#include <glib.h>

typedef struct SpatePacketCapture SpatePacketCapture;
typedef void (*SpateCaptureSink)(gpointer user, const guint8 *bytes, gsize length);

typedef struct {
    const SpatePlan *plan;
    const double *power_dbm; /* by radio, conducted */
    const bool *at_nodes;    /* by node: those that are captured; NULL: the air */
    const bool *traffics;    /* by traffic: those that are logged; NULL: all */
    SpateCaptureSink sink;
    gpointer user;
} SpatePacketCaptureSettings;

/* All is borrowed.  Free it after the run, and only then all has reached the sink. */
SpatePacketCapture *spate_packet_capture_new(const SpatePacketCaptureSettings *settings);
void spate_packet_capture_free(SpatePacketCapture *capture);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpatePacketCapture, spate_packet_capture_free)

SpateObserver spate_packet_capture_observer(SpatePacketCapture *capture);
