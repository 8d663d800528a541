/* antenna.h - gain by direction in the horizontal plane */
#pragma once

/* beamwidth_deg 0: omnidirectional.  Otherwise a sector: the parabola
 * 12 (phi / phi_3dB)^2 dB below the gain, floored at the front-to-back ratio
 * (3GPP TR 36.942, 4.2.1). */
typedef struct {
    double gain_dbi;
    double azimuth_deg; /* of the main lobe: 0 along +y (north), clockwise, 90 along +x (east) */
    double beamwidth_deg;
    double front_to_back_db;
} SpateAntenna;

/* Gain towards the bearing (same convention as azimuth). */
double spate_antenna_gain_dbi(const SpateAntenna *antenna, double bearing_deg);
