"""Documents held against the schemas in docs/, by Debian's python3-jsonschema (skipped without it)."""

import json

from tap import check

try:
    import jsonschema
except ImportError:
    jsonschema = None


def validator(path):
    """None without the module."""
    if jsonschema is None:
        return None
    with open(path, encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def check_fits(schema, name, document):
    wrong = next(schema.iter_errors(document), None)
    check(f"schema: {name}", wrong is None, wrong)


def objects_in(document, path=()):
    """Of each list the objects of its first element; with their paths."""
    if isinstance(document, dict):
        yield path, document
        for key, value in document.items():
            yield from objects_in(value, path + (key,))
    elif isinstance(document, list) and document:
        yield from objects_in(document[0], path + (0,))


def check_is_closed(schema, name, document, optional=()):
    """No object takes an unknown member, and none goes without one of its own but for optional ones."""
    taken, missed = [], []
    for path, found in objects_in(document):
        found["nobody-knows-this"] = 1
        if schema.is_valid(document):
            taken.append(path)
        del found["nobody-knows-this"]
        for key in list(found):
            kept = dict(found)
            del found[key]
            if schema.is_valid(document) != (key in optional):
                missed.append(path + (key,))
            found.clear()
            found.update(kept)
    check(f"schema: {name}: no object has unknown members", taken == [], taken)
    check(f"schema: {name}: what is always there is required", missed == [], missed)
