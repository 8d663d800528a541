/* gdal.h - GDAL, loaded when the first map is read or drawn
 *
 * GDAL brings some seventy libraries with it, and loading them takes longer than most runs: a
 * program that reads no map does without.  What we call of it is called through spate_gdal, after
 * spate_gdal_load().  GDAL's own documentation holds for each function.
 */
#pragma once

#include <glib.h>
#include <stdbool.h>

/* Whether GDAL can be called; else the error says what is missing.  May be called from several
 * threads, as often as one likes. */
bool spate_gdal_load(GError **error);

#ifdef SPATE_HAS_GDAL

#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <gdal.h>
#include <ogr_api.h>
#include <ogr_srs_api.h>

#define SPATE_GDAL_FUNCTIONS(X)                                                                    \
    X(CPLErrorReset)                                                                               \
    X(CPLGetLastErrorMsg)                                                                          \
    X(CPLGetLastErrorType)                                                                         \
    X(CPLPopErrorHandler)                                                                          \
    X(CPLPushErrorHandler)                                                                         \
    X(CPLQuietErrorHandler)                                                                        \
    X(CSLDestroy)                                                                                  \
    X(GDALAllRegister)                                                                             \
    X(GDALClose)                                                                                   \
    X(GDALCreate)                                                                                  \
    X(GDALCreateColorTable)                                                                        \
    X(GDALCreateCopy)                                                                              \
    X(GDALDatasetGetLayer)                                                                         \
    X(GDALDatasetGetLayerCount)                                                                    \
    X(GDALDestroyColorTable)                                                                       \
    X(GDALGetDriverByName)                                                                         \
    X(GDALGetFileList)                                                                             \
    X(GDALGetGeoTransform)                                                                         \
    X(GDALGetMaskBand)                                                                             \
    X(GDALGetRasterBand)                                                                           \
    X(GDALGetRasterCount)                                                                          \
    X(GDALGetRasterOffset)                                                                         \
    X(GDALGetRasterScale)                                                                          \
    X(GDALGetRasterUnitType)                                                                       \
    X(GDALGetRasterXSize)                                                                          \
    X(GDALGetRasterYSize)                                                                          \
    X(GDALGetSpatialRef)                                                                           \
    X(GDALOpenEx)                                                                                  \
    X(GDALRasterIO)                                                                                \
    X(GDALRasterIOEx)                                                                              \
    X(GDALSetColorEntry)                                                                           \
    X(GDALSetRasterColorTable)                                                                     \
    X(OGRGeometryTypeToName)                                                                       \
    X(OGR_F_Destroy)                                                                               \
    X(OGR_F_GetFieldAsString)                                                                      \
    X(OGR_F_GetFieldCount)                                                                         \
    X(OGR_F_GetFieldDefnRef)                                                                       \
    X(OGR_F_GetGeometryRef)                                                                        \
    X(OGR_F_IsFieldSetAndNotNull)                                                                  \
    X(OGR_Fld_GetNameRef)                                                                          \
    X(OGR_GT_Flatten)                                                                              \
    X(OGR_G_GetGeometryType)                                                                       \
    X(OGR_G_GetX)                                                                                  \
    X(OGR_G_GetY)                                                                                  \
    X(OGR_G_IsEmpty)                                                                               \
    X(OGR_L_GetName)                                                                               \
    X(OGR_L_GetNextFeature)                                                                        \
    X(OGR_L_GetSpatialRef)                                                                         \
    X(OSRClone)                                                                                    \
    X(OSRDemoteTo2D)                                                                               \
    X(OSRDestroySpatialReference)                                                                  \
    X(OSRExportToWktEx)                                                                            \
    X(OSRGetAttrValue)                                                                             \
    X(OSRGetLinearUnits)                                                                           \
    X(OSRIsGeographic)                                                                             \
    X(OSRIsLocal)                                                                                  \
    X(OSRIsSame)                                                                                   \
    X(OSRNewSpatialReference)                                                                      \
    X(OSRSetAxisMappingStrategy)                                                                   \
    X(OSRSetWellKnownGeogCS)                                                                       \
    X(VSIFCloseL)                                                                                  \
    X(VSIFileFromMemBuffer)                                                                        \
    X(VSIFree)                                                                                     \
    X(VSIGetMemFileBuffer)                                                                         \
    X(VSIUnlink)

#define SPATE_GDAL_MEMBER(function) __typeof__(function) *function;
typedef struct {
    SPATE_GDAL_FUNCTIONS(SPATE_GDAL_MEMBER)
} SpateGdal;
#undef SPATE_GDAL_MEMBER

/* All NULL before spate_gdal_load(). */
extern SpateGdal spate_gdal;

#endif
