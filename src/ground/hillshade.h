/* hillshade.h - how bright the ground is in light from one side
 *
 * B. K. P. Horn, Hill shading and the reflectance map, Proceedings of the IEEE 69(1), 1981: the
 * slope at a point from its eight neighbours, those beside it weighted twice; a matte surface is as
 * bright as the cosine of the angle between its normal and the light, and dark where it turns away
 * from it.  The light comes from the north-west, 45 degrees above the horizon: common practice of
 * maps, no source.
 */
#pragma once

/* From 0, dark, to 1, turned towards the light; level ground has 0.707.  The nine heights are those
 * of the point, the fifth, and around it, row by row from the north-west; columns are `east_m`
 * apart, rows `north_m`.  NAN where one of the heights is. */
double spate_hillshade(const double heights_m[9], double east_m, double north_m);
