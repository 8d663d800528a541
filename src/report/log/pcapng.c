/* pcapng.c - blocks of a capture file */
#include "report/log/pcapng.h"

#include <string.h>

enum { BLOCK_INTERFACE = 1, BLOCK_PACKET = 6, BLOCK_SECTION = 0x0a0d0d0a };
enum {
    OPTION_END = 0,
    OPTION_APPLICATION = 4,     /* of a section */
    OPTION_INTERFACE_NAME = 2,  /* of an interface */
    OPTION_TIME_RESOLUTION = 9, /* likewise: 10^-value s */
};

#define BYTE_ORDER_MAGIC 0x1a2b3c4du
#define NANOSECONDS      9

void
spate_append_le(GByteArray *bytes, unsigned n_bytes, uint32_t value)
{
    for (unsigned i = 0; i < n_bytes; i++)
        g_byte_array_append(bytes, &(guint8){(guint8)(value >> 8 * i)}, 1);
}

void
spate_append_be(GByteArray *bytes, unsigned n_bytes, uint32_t value)
{
    for (unsigned i = n_bytes; i-- > 0;)
        g_byte_array_append(bytes, &(guint8){(guint8)(value >> 8 * i)}, 1);
}

void
spate_append_zeros(GByteArray *bytes, size_t n)
{
    guint old = bytes->len;
    g_byte_array_set_size(bytes, old + (guint)n);
    memset(bytes->data + old, 0, n);
}

static void
pad(GByteArray *bytes)
{
    spate_append_zeros(bytes, (4 - bytes->len % 4) % 4);
}

static void
append_option(GByteArray *bytes, unsigned code, const void *value, size_t length)
{
    spate_append_le(bytes, 2, code);
    spate_append_le(bytes, 2, (uint32_t)length);
    g_byte_array_append(bytes, value, (guint)length);
    pad(bytes);
}

/* A block's length comes before and after its body. */
static guint
begin_block(GByteArray *bytes, uint32_t type)
{
    guint start = bytes->len;
    g_assert(start % 4 == 0);
    spate_append_le(bytes, 4, type);
    spate_append_le(bytes, 4, 0);
    return start;
}

static void
end_block(GByteArray *bytes, guint start)
{
    pad(bytes);
    uint32_t length = GUINT32_TO_LE(bytes->len + 4 - start);
    memcpy(bytes->data + start + 4, &length, sizeof length);
    g_byte_array_append(bytes, (const guint8 *)&length, sizeof length);
}

void
spate_pcapng_append_section(GByteArray *bytes, const char *application)
{
    guint start = begin_block(bytes, BLOCK_SECTION);
    spate_append_le(bytes, 4, BYTE_ORDER_MAGIC);
    spate_append_le(bytes, 2, 1); /* version 1.0 */
    spate_append_le(bytes, 2, 0);
    spate_append_le(bytes, 4, UINT32_MAX); /* of unknown length */
    spate_append_le(bytes, 4, UINT32_MAX);
    append_option(bytes, OPTION_APPLICATION, application, strlen(application));
    append_option(bytes, OPTION_END, "", 0);
    end_block(bytes, start);
}

void
spate_pcapng_append_interface(GByteArray *bytes, uint16_t link_type, const char *name)
{
    const guint8 resolution = NANOSECONDS;
    guint start = begin_block(bytes, BLOCK_INTERFACE);
    spate_append_le(bytes, 2, link_type);
    spate_append_le(bytes, 2, 0); /* reserved */
    spate_append_le(bytes, 4, 0); /* whole packets */
    append_option(bytes, OPTION_INTERFACE_NAME, name, MIN(strlen(name), 65535u));
    append_option(bytes, OPTION_TIME_RESOLUTION, &resolution, 1);
    append_option(bytes, OPTION_END, "", 0);
    end_block(bytes, start);
}

void
spate_pcapng_append_packet(GByteArray *bytes, uint32_t interface, int64_t at_ns,
                           const GByteArray *packet)
{
    uint64_t stamp = (uint64_t)at_ns;
    guint start = begin_block(bytes, BLOCK_PACKET);
    spate_append_le(bytes, 4, interface);
    spate_append_le(bytes, 4, (uint32_t)(stamp >> 32));
    spate_append_le(bytes, 4, (uint32_t)(stamp & UINT32_MAX));
    spate_append_le(bytes, 4, packet->len);
    spate_append_le(bytes, 4, packet->len);
    g_byte_array_append(bytes, packet->data, packet->len);
    end_block(bytes, start);
}
