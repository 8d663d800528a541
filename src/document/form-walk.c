/* form-walk.c - the cells of a document that number or name something */
#include "document/form.h"

typedef struct {
    SpateCellVisit visit;
    gpointer user;
} Walk;

static void walk_members(const Walk *walk, const SpateForm *form, JsonObject *object);
static void walk_cell(const Walk *walk, const SpateMember *member, JsonNode *cell);

static void
walk_list(const Walk *walk, const SpateMember *member, JsonArray *list)
{
    for (guint i = 0; i < json_array_get_length(list); i++) {
        JsonNode *element = json_array_get_element(list, i);
        if (JSON_NODE_HOLDS_OBJECT(element))
            walk_members(walk, member->form, json_node_get_object(element));
        else if (JSON_NODE_HOLDS_ARRAY(element))
            for (size_t k = 0; k < member->form->n_members; k++)
                walk_cell(walk, &member->form->members[k],
                          json_array_get_element(json_node_get_array(element), (guint)k));
        else if (member->form == NULL && member->of != SPATE_THING_NONE)
            walk->visit(member, element, walk->user);
    }
}

static void
walk_cell(const Walk *walk, const SpateMember *member, JsonNode *cell)
{
    if (member->cell == SPATE_CELL_ROWS)
        cell = json_object_get_member(json_node_get_object(cell), "rows");
    if (JSON_NODE_HOLDS_ARRAY(cell))
        walk_list(walk, member, json_node_get_array(cell));
    else if (JSON_NODE_HOLDS_OBJECT(cell) && member->form != NULL)
        walk_members(walk, member->form, json_node_get_object(cell));
    else if (JSON_NODE_HOLDS_VALUE(cell) && member->of != SPATE_THING_NONE)
        walk->visit(member, cell, walk->user);
}

static void
walk_members(const Walk *walk, const SpateForm *form, JsonObject *object)
{
    for (size_t i = 0; i < form->n_members; i++) {
        const SpateMember *member = &form->members[i];
        if (member->key == NULL)
            walk_members(walk, member->form, object);
        else if (json_object_has_member(object, member->key))
            walk_cell(walk, member, json_object_get_member(object, member->key));
    }
}

void
spate_form_walk(const SpateForm *form, JsonObject *object, SpateCellVisit visit, gpointer user)
{
    const Walk walk = {visit, user};
    walk_members(&walk, form, object);
}
