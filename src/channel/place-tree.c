/* place-tree.c - which places lie near one */
#include "channel/place-tree.h"

#include <math.h>
#include <stdbool.h>

/* A box of so many places is not parted further. */
#define FEW 16

/* Places that are close together cannot be parted by halving for ever. */
#define DEEPEST 48

/* Far more than the arithmetic of distances loses. */
#define SURELY_M 1e-3

typedef struct {
    double low_m[3], high_m[3];
    uint32_t begin, end; /* of its places */
    uint32_t second; /* box: of the other half, that of the first being the next; 0: not parted */
} Box;

struct SpatePlaceTree {
    SpatePlace *places; /* those of a box side by side */
    GArray *boxes;      /* Box; the whole is the first */
};

static Box
box_of(const SpatePlaceTree *tree, uint32_t begin, uint32_t end)
{
    Box box = {{INFINITY, INFINITY, INFINITY}, {-INFINITY, -INFINITY, -INFINITY}, begin, end, 0};
    for (uint32_t i = begin; i < end; i++)
        for (int axis = 0; axis < 3; axis++) {
            box.low_m[axis] = fmin(box.low_m[axis], tree->places[i].at_m[axis]);
            box.high_m[axis] = fmax(box.high_m[axis], tree->places[i].at_m[axis]);
        }
    return box;
}

static int
longest_side(const Box *box)
{
    int longest = 0;
    for (int axis = 1; axis < 3; axis++)
        if (box->high_m[axis] - box->low_m[axis] > box->high_m[longest] - box->low_m[longest])
            longest = axis;
    return longest;
}

static void
swap(SpatePlace *a, SpatePlace *b)
{
    SpatePlace kept = *a;
    *a = *b;
    *b = kept;
}

/* Brings those below the middle to the front; where the others begin. */
static uint32_t
part(SpatePlaceTree *tree, const Box *box)
{
    int axis = longest_side(box);
    double middle_m = 0.5 * (box->low_m[axis] + box->high_m[axis]);
    uint32_t second = box->begin;
    for (uint32_t i = box->begin; i < box->end; i++)
        if (tree->places[i].at_m[axis] < middle_m)
            swap(&tree->places[i], &tree->places[second++]);
    return second;
}

static void
add_boxes(SpatePlaceTree *tree, uint32_t begin, uint32_t end, int depth)
{
    Box box = box_of(tree, begin, end);
    guint at = tree->boxes->len;
    g_array_append_val(tree->boxes, box);
    if (end - begin <= FEW || depth == DEEPEST)
        return;
    uint32_t middle = part(tree, &box);
    if (middle == begin || middle == end)
        return;
    add_boxes(tree, begin, middle, depth + 1);
    g_array_index(tree->boxes, Box, at).second = tree->boxes->len;
    add_boxes(tree, middle, end, depth + 1);
}

SpatePlaceTree *
spate_place_tree_new(SpatePlace *places, uint32_t n)
{
    SpatePlaceTree *tree = g_new0(SpatePlaceTree, 1);
    tree->places = places;
    tree->boxes = g_array_new(FALSE, FALSE, sizeof(Box));
    add_boxes(tree, 0, n, 0);
    return tree;
}

void
spate_place_tree_free(SpatePlaceTree *tree)
{
    g_free(tree->places);
    g_array_free(tree->boxes, TRUE);
    g_free(tree);
}

static double
square(double x)
{
    return x * x;
}

typedef struct {
    const SpatePlaceTree *tree;
    const double *from_m;
    double within_m2;
    SpatePlaceFound found;
    gpointer user;
} Search;

static bool
lies_beyond(const Search *search, const Box *box)
{
    double away_m2 = 0.0;
    for (int axis = 0; axis < 3; axis++)
        away_m2 += square(fmax(
            fmax(box->low_m[axis] - search->from_m[axis], search->from_m[axis] - box->high_m[axis]),
            0.0));
    return away_m2 > search->within_m2;
}

static void
search_places(const Search *search, const Box *box)
{
    for (uint32_t i = box->begin; i < box->end; i++) {
        const SpatePlace *place = &search->tree->places[i];
        double away_m2 = square(place->at_m[0] - search->from_m[0]) +
                         square(place->at_m[1] - search->from_m[1]) +
                         square(place->at_m[2] - search->from_m[2]);
        if (away_m2 <= search->within_m2)
            search->found(search->user, place, away_m2);
    }
}

static void
search_box(const Search *search, guint at)
{
    const Box *box = &g_array_index(search->tree->boxes, Box, at);
    if (lies_beyond(search, box))
        return;
    if (box->second == 0) {
        search_places(search, box);
        return;
    }
    search_box(search, at + 1);
    search_box(search, box->second);
}

void
spate_place_tree_search(const SpatePlaceTree *tree, const double from_m[3], double within_m,
                        SpatePlaceFound found, gpointer user)
{
    const Search search = {tree, from_m, square(within_m + SURELY_M), found, user};
    search_box(&search, 0);
}
