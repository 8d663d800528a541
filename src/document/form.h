/* form.h - documents by tables
 *
 * What a program reads is made of constant tables, as a scenario file is
 * (scenario/read/read-fields.h): of which members an object is made, where in a C struct each
 * is, and what values it may have. One such table, a form, is what writes JSON and CSV, what reads
 * JSON back, and what checks documents from elsewhere.  Members come in the order of their table
 * and numbers in their shortest form, so that equal data are equal bytes; a library writer would
 * not promise either.
 */
#pragma once

#include <json-glib/json-glib.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* After each, the type in the struct. */
typedef enum {
    SPATE_CELL_TEXT,     /* char *; none: NULL */
    SPATE_CELL_FIXED,    /* nothing: the text is that of the member, and read it must be the same */
    SPATE_CELL_WORD,     /* an enum, as its word */
    SPATE_CELL_WHOLE,    /* uint32_t; none: SPATE_NO_THING, or no more than `none` of the member */
    SPATE_CELL_LARGE,    /* uint64_t or size_t; none: 0 */
    SPATE_CELL_SINCE,    /* int64_t: whole, before 0 too */
    SPATE_CELL_INDEX,    /* nothing: the number of the element in its list */
    SPATE_CELL_NUMBER,   /* double; none: NAN */
    SPATE_CELL_SECONDS,  /* int64_t, ns; none: before 0 */
    SPATE_CELL_FLAG,     /* bool; none: false.  With words, these instead of false and true */
    SPATE_CELL_INTERVAL, /* SpateInterval; none: NAN, always null */
    SPATE_CELL_TEXTS,    /* char **, ends with NULL; none: NULL */
    SPATE_CELL_WHOLES,   /* uint32_t * and their count */
    SPATE_CELL_NUMBERS,  /* double * and their count */
    SPATE_CELL_PARTS,    /* a struct within this one, whose members stand among these */
    SPATE_CELL_JOINED,   /* a pointer to a struct, whose members stand among these */
    SPATE_CELL_OBJECT,   /* a struct within this one */
    SPATE_CELL_POINTED,  /* a pointer to a struct; none: NULL */
    SPATE_CELL_LIST,     /* a pointer to structs and their count: a list of objects; none: NULL */
    SPATE_CELL_LINES,    /* the same as a list of lists */
    SPATE_CELL_ROWS,     /* the same, beside the names of its columns */
    SPATE_CELL_OTHER     /* a pointer that `append` writes; none: NULL */
} SpateCell;

/* How a member says that there is none. */
typedef enum {
    SPATE_ALWAYS, /* there is one */
    SPATE_OR_NULL,
    SPATE_OR_ABSENT,
    SPATE_OR_EMPTY /* texts: "" */
} SpateAbsence;

/* What a whole number is the number of, in a list of the same object or of one around it; what a
 * text is the name of; of a list: there is an element for each. */
typedef enum {
    SPATE_THING_NONE,
    SPATE_THING_NODE,
    SPATE_THING_BEARER,
    SPATE_THING_RADIO,
    SPATE_THING_MESSAGE,
    SPATE_THING_BRIDGE, /* only named */
    SPATE_THING_ELSE,   /* no list of these */
    SPATE_N_THINGS
} SpateThing;

#define SPATE_NO_THING UINT32_MAX

typedef struct SpateForm SpateForm;

typedef struct {
    const char *key;
    SpateCell cell;
    size_t at; /* offset in the struct */
    SpateAbsence absence;
    /* How it is laid out: what is written before the key, and before each element (else a blank,
     * and nothing); `beside`: nothing before the first element. */
    const char *line, *each;
    bool beside;
    bool unread;  /* written only: who reads passes over it */
    bool derived; /* a word that follows from another: read it must be the same */
    size_t given; /* 1 + offset of a bool: where it is false there is none */

    const char *fixed;
    const char *const *words; /* by number */
    const char *(*word)(int); /* or by a function */
    int n_words;              /* with either */
    double least, most;       /* of numbers that are read; most 0: no bounds but a type's */
    int digits;               /* significant ones; 0: all */
    bool tenths;              /* rounded to them */
    uint32_t none;            /* of a whole number that is no thing's: there is none up to it */
    SpateThing of;            /* what it numbers or names */
    SpateThing lists;         /* whose list this is */
    const SpateForm *form;    /* of its content */
    const SpateForm *rest;    /* rows: what follows them, in the struct around */
    size_t n_at, n_size;      /* the count: its offset and size; size 0: see `n_at` of the form */
    const char *item;         /* an element or object, for faults: "measure" */
    bool holes;               /* of a list of objects: null may stand for one */
    /* Writes what is pointed to: all that is other, and lists that are only read by their form. */
    void (*append)(GString *, gconstpointer);
} SpateMember;

struct SpateForm {
    const SpateMember *members;
    size_t n_members;
    size_t size; /* of the struct */
    size_t n_at; /* of a whole document: offset of the count, uint32_t, of lists without one; 0:
                    none */
};

#define SPATE_FORM(type, members)                                                                  \
    {                                                                                              \
        members, G_N_ELEMENTS(members), sizeof(type), 0                                            \
    }
/* The form of a member's content, where nothing else needs it. */
#define SPATE_OF(type, members) .form = &(const SpateForm)SPATE_FORM(type, members)
/* The offsets of a list and of its count. */
#define SPATE_LIST(type, items, n)                                                                 \
    offsetof(type, items), .n_at = offsetof(type, n), .n_size = sizeof(((type *)NULL)->n)
#define SPATE_GIVEN(type, flag) 1 + offsetof(type, flag)
#define SPATE_WORDS(list)       .words = list, .n_words = G_N_ELEMENTS(list)

/* The struct as an object. */
void spate_form_append(GString *text, const SpateForm *form, const void *data);

/* A line of CSV, the cells of parts and objects among its own: a comma comes before each but the
 * first of a line, so that something may stand before them.  An interval takes two, KEY_low and
 * KEY_high; none is an empty cell; flags are yes and no. */
void spate_form_append_csv(GString *text, const SpateForm *form, const void *data);
void spate_form_append_csv_head(GString *text, const SpateForm *form);

/* Reads an object into a struct that is all zero; who owns it frees what it holds, also when it was
 * read in part.  NULL: it is only checked.  Members that the form does not know are passed over.
 * Returns what is wrong first, and where: "variant 0, measure 3: 'n' is missing"; free with
 * g_free().  NULL: nothing is. */
char *spate_form_read(const SpateForm *form, JsonNode *node, void *into);

/* What a document says of things: called with each cell that numbers or names one, and is not null;
 * it may be changed.  The document was checked before. */
typedef void (*SpateCellVisit)(const SpateMember *member, JsonNode *cell, gpointer user);
void spate_form_walk(const SpateForm *form, JsonObject *object, SpateCellVisit visit,
                     gpointer user);

/* Lists and texts that are made up for a document: they are freed with the scratch, an array whose
 * function is g_free(). */
static inline void *
spate_scratch(GPtrArray *scratch, void *memory)
{
    g_ptr_array_add(scratch, memory);
    return memory;
}
/* The elements of an array for a list: there are none only for NULL, not for an empty one. */
static inline const void *
spate_elements(const GArray *array)
{
    if (array == NULL)
        return NULL;
    return array->len > 0 ? array->data : "";
}
