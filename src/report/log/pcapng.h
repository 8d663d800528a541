/* pcapng.h - blocks of a capture file
 *
 * draft-ietf-opsawg-pcapng, in little-endian order: one section, its interfaces, its packets.
 * Times are in nanoseconds.
 */
#pragma once

#include <glib.h>
#include <stdint.h>

/* Link types, https://www.tcpdump.org/linktypes.html. */
#define SPATE_LINKTYPE_IEEE802_11_RADIOTAP 127
#define SPATE_LINKTYPE_LORATAP             270

void spate_pcapng_append_section(GByteArray *bytes, const char *application);
/* Interfaces are counted from 0 in the order in which they are appended, before all packets. */
void spate_pcapng_append_interface(GByteArray *bytes, uint16_t link_type, const char *name);
void spate_pcapng_append_packet(GByteArray *bytes, uint32_t interface, int64_t at_ns,
                                const GByteArray *packet);

/* Numbers of so many bytes, 4 at most, into packets. */
void spate_append_le(GByteArray *bytes, unsigned n_bytes, uint32_t value);
void spate_append_be(GByteArray *bytes, unsigned n_bytes, uint32_t value);
void spate_append_zeros(GByteArray *bytes, size_t n);
