/* bridge.h - crossings between bearers at bridge nodes
 *
 * On the first copy of a message on bearer A each crossing A -> B of the node is
 * considered, in the order of the file; its rules see only what may still be sent on B.
 */
#pragma once

#include "mesh/mesh.h"

typedef struct SpateBridges SpateBridges;

/* Registers itself with the mesh.  Everything is borrowed. */
SpateBridges *spate_bridges_new(SpateMesh *mesh, const SpatePlan *plan);
void spate_bridges_free(SpateBridges *bridges);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateBridges, spate_bridges_free)
