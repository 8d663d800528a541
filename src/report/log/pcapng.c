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
spate_append_u8(GByteArray *bytes, unsigned value)
{
    guint8 byte = (guint8)value;
    g_byte_array_append(bytes, &byte, 1);
}

void
spate_append_u16_le(GByteArray *bytes, unsigned value)
{
    spate_append_u8(bytes, value & 0xffu);
    spate_append_u8(bytes, value >> 8 & 0xffu);
}

void
spate_append_u32_le(GByteArray *bytes, uint32_t value)
{
    spate_append_u16_le(bytes, value & 0xffffu);
    spate_append_u16_le(bytes, value >> 16);
}

void
spate_append_u16_be(GByteArray *bytes, unsigned value)
{
    spate_append_u8(bytes, value >> 8 & 0xffu);
    spate_append_u8(bytes, value & 0xffu);
}

void
spate_append_u32_be(GByteArray *bytes, uint32_t value)
{
    spate_append_u16_be(bytes, value >> 16);
    spate_append_u16_be(bytes, value & 0xffffu);
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
    spate_append_u16_le(bytes, code);
    spate_append_u16_le(bytes, (unsigned)length);
    g_byte_array_append(bytes, value, (guint)length);
    pad(bytes);
}

/* A block's length comes before and after its body. */
static guint
begin_block(GByteArray *bytes, uint32_t type)
{
    guint start = bytes->len;
    g_assert(start % 4 == 0);
    spate_append_u32_le(bytes, type);
    spate_append_u32_le(bytes, 0);
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
    spate_append_u32_le(bytes, BYTE_ORDER_MAGIC);
    spate_append_u16_le(bytes, 1); /* version 1.0 */
    spate_append_u16_le(bytes, 0);
    spate_append_u32_le(bytes, UINT32_MAX); /* of unknown length */
    spate_append_u32_le(bytes, UINT32_MAX);
    append_option(bytes, OPTION_APPLICATION, application, strlen(application));
    append_option(bytes, OPTION_END, "", 0);
    end_block(bytes, start);
}

void
spate_pcapng_append_interface(GByteArray *bytes, uint16_t link_type, const char *name)
{
    const guint8 resolution = NANOSECONDS;
    guint start = begin_block(bytes, BLOCK_INTERFACE);
    spate_append_u16_le(bytes, link_type);
    spate_append_u16_le(bytes, 0); /* reserved */
    spate_append_u32_le(bytes, 0); /* whole packets */
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
    spate_append_u32_le(bytes, interface);
    spate_append_u32_le(bytes, (uint32_t)(stamp >> 32));
    spate_append_u32_le(bytes, (uint32_t)(stamp & UINT32_MAX));
    spate_append_u32_le(bytes, packet->len);
    spate_append_u32_le(bytes, packet->len);
    g_byte_array_append(bytes, packet->data, packet->len);
    end_block(bytes, start);
}
