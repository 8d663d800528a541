/* links.h - how loudly one radio is heard by another, fading apart
 *
 * The link budget of docs/model.md, "Links": power - feeder loss + antenna gain towards the
 * other end - path loss - site losses - shadowing + antenna gain - feeder loss.
 * Geometry is worked out on demand; nothing is cached for each pair.
 */
#pragma once

#include "propagation/path-loss.h"
#include "propagation/terrain-paths.h"
#include "radio/antenna.h"
#include "radio/bearer.h"
#include <glib.h>
#include <stdint.h>

/* Log-normal shadowing: sigma * (sqrt(rho) (s_a + s_b) / sqrt(2) + sqrt(1 - rho) e_ab). */
typedef struct {
    double sigma_db; /* 0: none */
    double shared;   /* rho, 0 .. 1 */
    bool redraw;     /* in each replication; else once */
    /* Of a pair with a node that moves: over this way the correlation falls to 1/e. */
    double decorrelation_m;
} SpateShadowing;

/* Another model for pairs of which one node is in group_a and the other in group_b.
 * `members_a[node]` says who is in; both arrays have n_nodes entries. */
typedef struct {
    bool *members_a, *members_b;
    SpatePathModel model;
    SpateShadowing shadowing;
} SpateBetween;

typedef struct {
    SpatePathModel model;
    SpateShadowing shadowing;
    SpateBetween *between; /* the first that fits counts */
    size_t n_between;
} SpatePropagation;

/* The exception that fits a pair of nodes, or NULL. */
const SpateBetween *spate_propagation_between(const SpatePropagation *propagation, uint32_t a,
                                              uint32_t b);

typedef enum {
    SPATE_FADING_NONE,
    SPATE_FADING_RAYLEIGH,
    SPATE_FADING_RICIAN,
    SPATE_FADING_NAKAGAMI
} SpateFadingKind;

/* A factor of mean 1 on the received power. */
typedef struct {
    SpateFadingKind kind;
    double rician_k_db;
    double nakagami_m;
    int64_t coherence_ns; /* 0: each frame for itself */
} SpateFading;

/* A factor of mean 1, by the stream of (key, entity): the same arguments give the same factor. */
double spate_fading_gain(const SpateFading *fading, uint64_t key, uint64_t entity);
/* A factor that is exceeded with a probability of at most 1e-12; 1 for none. */
double spate_fading_highest_gain(const SpateFading *fading);

/* What antenna and feeder of a radio here add towards there. */
double spate_end_gain_db(const SpateAntenna *antenna, double feeder_loss_db, SpatePosition here,
                         SpatePosition there);

/* One radio, as the budget sees it. */
typedef struct {
    uint32_t node;   /* index; radios of one node share place and shadowing */
    uint32_t bearer; /* index into the bearers */
    double power_dbm;
    SpateAntenna antenna;
    double feeder_loss_db;
} SpateRadioSite;

typedef struct {
    SpatePosition position;
    double site_loss_db;
    uint64_t name_hash; /* spate_hash_name() of the node's name */
} SpateNodeSite;

/* The loss of a link as given: it replaces path loss, shadowing and site losses. */
typedef struct {
    uint32_t from_node, to_node;
    int32_t bearer; /* -1: all bearers */
    double loss_db;
} SpateGivenLoss;

typedef struct SpateLinks SpateLinks;

/* Everything is copied but the internals of `propagation` (members of `between`), which are
 * borrowed.  `isolation_db` has an entry for each node.  Later entries of `given` win over
 * earlier ones, an entry that names a bearer over one that does not. */
SpateLinks *spate_links_new(const SpateNodeSite *nodes, size_t n_nodes, const double *isolation_db,
                            const SpateRadioSite *radios, size_t n_radios,
                            const SpateBearer *bearers, const SpatePropagation *propagation,
                            size_t n_bearers, const SpateGivenLoss *given, size_t n_given);
/* With places of its own, for one thread; what the original borrows, it borrows too. */
SpateLinks *spate_links_copy(const SpateLinks *links);
void spate_links_free(SpateLinks *links);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateLinks, spate_links_free)

const SpateNodeSite *spate_links_node(const SpateLinks *links, uint32_t node);
/* The height model on which nodes move, borrowed; NULL, as at the start: the ground is flat. */
void spate_links_set_terrain(SpateLinks *links, const SpateTerrain *terrain);
/* Paths between the nodes, by their numbers, where some are known; borrowed. */
void spate_links_set_paths(SpateLinks *links, const SpateTerrainPaths *paths);
/* Sets the ground under the new place too; false with an error where there is none. */
bool spate_links_move(SpateLinks *links, uint32_t node, SpatePosition to, GError **error);

/* One direction of one pair of radios. */
typedef struct {
    double distance_m;
    double loss_db;            /* path loss alone, extra loss included; as given by `links:` */
    double received_dbm;       /* without shadowing and fading */
    double shadowing_sigma_db; /* of this pair; 0 if none or if the loss is given */
    bool is_given;             /* the loss is that of `links:` */
} SpateLink;

/* Radios of different bearers: the sender's bearer counts for the loss.  Radios of one node:
 * isolation in place of everything but the power.  False with an error where the path loss model
 * does not hold. */
bool spate_links_budget(const SpateLinks *links, uint32_t sender, uint32_t receiver,
                        SpateLink *link, GError **error);

/* The same of a level that matters: of one that is sure to be below least_dbm it says no more than
 * that, and the path over terrain is not walked. */
bool spate_links_budget_above(const SpateLinks *links, uint32_t sender, uint32_t receiver,
                              double least_dbm, SpateLink *link, GError **error);

/* A sender and many receivers, one after the other: what is the same for all is looked up once. */
typedef struct {
    const SpateLinks *links; /* borrowed */
    uint32_t sender;
    const SpatePathModel *model; /* where the loss of every link follows from its length; or NULL */
    double frequency_hz;
    bool is_shadowed; /* some link may be */
} SpateSender;

SpateSender spate_links_sender(const SpateLinks *links, uint32_t sender);
/* What a receiver of another node takes in, in dBm, without shadowing; at less than least_dbm as
 * spate_links_budget_above().  NAN with an error where the path loss model does not hold. */
double spate_sender_received_dbm(const SpateSender *sender, uint32_t receiver, double least_dbm,
                                 GError **error);

/* Tell the processor that the radio is the receiver of a link before long, and, when that has come,
 * its node. */
void spate_links_fetch_radio(const SpateLinks *links, uint32_t radio);
void spate_links_fetch_node(const SpateLinks *links, uint32_t radio);

/* A radio at some place: its own, or one to which it is carried.  It stays its node's: a member of
 * the groups of `between`, with the same site loss. */
typedef struct {
    const SpateRadioSite *radio; /* borrowed */
    SpatePosition position;
    double site_loss_db;
} SpateStation;

/* The radio where it is; valid as long as the links. */
SpateStation spate_links_station(const SpateLinks *links, uint32_t radio);
/* Both ways between stations of two nodes on one bearer, as by spate_links_budget(); but losses as
 * given are measured between places, and do not go with a radio that is carried elsewhere. */
bool spate_links_budget_between(const SpateLinks *links, const SpateStation *a,
                                const SpateStation *b, SpateLink *a_to_b, SpateLink *b_to_a,
                                GError **error);
/* The levels at both as if nothing stood in between: over the ground they are no higher, but take
 * long to work out.  False where the model of the two takes no account of the ground. */
bool spate_links_levels_in_sight(const SpateLinks *links, const SpateStation *a,
                                 const SpateStation *b, double *at_a_dbm, double *at_b_dbm);

/* Shadowing of the pair in dB (a loss: positive is weaker); 0 for radios of one node and given
 * losses.  The same both ways, and scaled by sigma the same on all bearers; drawn by
 * (seed, replication) or by the seed alone where it is drawn once. */
double spate_links_shadowing_db(const SpateLinks *links, uint32_t sender, uint32_t receiver,
                                uint64_t seed, uint32_t replication);
/* The part of shadowing that each node has towards everyone, drawn for many pairs. */
typedef struct SpateShadowDraws SpateShadowDraws;
SpateShadowDraws *spate_links_draw_shadowing(const SpateLinks *links, uint64_t seed,
                                             uint32_t replication);
void spate_shadow_draws_free(SpateShadowDraws *draws);
G_DEFINE_AUTOPTR_CLEANUP_FUNC(SpateShadowDraws, spate_shadow_draws_free)
/* As spate_links_shadowing_db(), but faster. */
double spate_links_shadowing_with(const SpateLinks *links, const SpateShadowDraws *draws,
                                  uint32_t sender, uint32_t receiver);

/* The most by which shadowing may raise the level of any pair on a bearer, in dB. */
double spate_shadow_draws_highest_db(const SpateLinks *links, const SpateShadowDraws *draws,
                                     uint32_t bearer);
/* Whether shadowing may raise the level of a pair of nodes by so many dB, on a bearer without
 * exceptions for pairs: true where it does, and where it falls little short of that or the draws of
 * the two nodes alone suffice.  A small part of the cost of the draw. */
bool spate_shadow_draws_may_raise(const SpateLinks *links, const SpateShadowDraws *draws,
                                  uint32_t bearer, uint32_t a, uint32_t b, double by_db);
/* What two nodes lose at least that are so far apart on the map, if their loss is not given,
 * without shadowing; -INFINITY where no bound is known. */
double spate_links_least_loss_db(const SpateLinks *links, uint32_t bearer, double distance_m);
/* Calls back with each pair of nodes of which some loss is given. */
void spate_links_each_given(const SpateLinks *links,
                            void (*call)(gpointer user, uint32_t from_node, uint32_t to_node),
                            gpointer user);

/* Whether any pair's shadowing is drawn anew in each replication. */
bool spate_links_redraw(const SpateLinks *links);
