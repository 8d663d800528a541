/* geojson.c - geometries of GeoJSON (RFC 7946) */
#include "document/geojson.h"

#include "document/numbers.h"
#include <math.h>

#define DECIMALS 8 /* a millimetre */

void
spate_geojson_append_position(GString *text, double longitude_deg, double latitude_deg)
{
    g_string_append_c(text, '[');
    spate_append_fixed(text, longitude_deg, DECIMALS, FALSE);
    g_string_append(text, ", ");
    spate_append_fixed(text, latitude_deg, DECIMALS, FALSE);
    g_string_append_c(text, ']');
}

void
spate_geojson_append_point(GString *text, double longitude_deg, double latitude_deg)
{
    g_string_append(text, "{\"type\": \"Point\", \"coordinates\": ");
    spate_geojson_append_position(text, longitude_deg, latitude_deg);
    g_string_append_c(text, '}');
}

static void
append_part(GString *text, double from_longitude_deg, double from_latitude_deg,
            double to_longitude_deg, double to_latitude_deg)
{
    g_string_append_c(text, '[');
    spate_geojson_append_position(text, from_longitude_deg, from_latitude_deg);
    g_string_append(text, ", ");
    spate_geojson_append_position(text, to_longitude_deg, to_latitude_deg);
    g_string_append_c(text, ']');
}

void
spate_geojson_append_line(GString *text, const double from_deg[2], const double to_deg[2])
{
    double east_deg = remainder(to_deg[0] - from_deg[0], 360.0);
    if (fabs(from_deg[0] + east_deg) <= 180.0) {
        g_string_append(text, "{\"type\": \"LineString\", \"coordinates\": ");
        append_part(text, from_deg[0], from_deg[1], to_deg[0], to_deg[1]);
    } else {
        double edge_deg = east_deg > 0.0 ? 180.0 : -180.0;
        double share = (edge_deg - from_deg[0]) / east_deg;
        double at_deg = from_deg[1] + share * (to_deg[1] - from_deg[1]);
        g_string_append(text, "{\"type\": \"MultiLineString\", \"coordinates\": [");
        append_part(text, from_deg[0], from_deg[1], edge_deg, at_deg);
        g_string_append(text, ", ");
        append_part(text, -edge_deg, at_deg, to_deg[0], to_deg[1]);
        g_string_append_c(text, ']');
    }
    g_string_append_c(text, '}');
}
