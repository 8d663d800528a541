/* antenna.c - gain by direction in the horizontal plane */
#include "radio/antenna.h"

#include <math.h>

double
spate_antenna_gain_dbi(const SpateAntenna *antenna, double bearing_deg)
{
    if (antenna->beamwidth_deg <= 0.0)
        return antenna->gain_dbi;
    double off_deg = remainder(bearing_deg - antenna->azimuth_deg, 360.0);
    double widths = off_deg / antenna->beamwidth_deg;
    return antenna->gain_dbi - fmin(12.0 * widths * widths, antenna->front_to_back_db);
}
