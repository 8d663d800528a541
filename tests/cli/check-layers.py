"""run and compare --coverage: the layers under the map of a page against spate coverage and by hand.

    check-layers.py SPATE SCHEMA
"""

import json
import math
import os
import re
import subprocess
import sys
import tempfile

from tap import check, end, equal, skip

SPATE, SCHEMA = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])

# Of places in metres or degrees, which tell cells apart.
DIGITS = 5
# As src/report/result/detail-layers.c writes them: no ground, then from dark to light.
SHADES = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"

HOLLOW = """spate: 1
title: Under the map
run: {duration: 2 min, cool-down: 10 s}
bearers:
  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,
    propagation: {model: log-distance, exponent: 3.4}}
  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: 3.2}}
nodes:
  barn: {at: {PLACE_BARN, height: 6 m}, radios: {valley: {power: 14 dBm}, yard: {power: 14 dBm}}, relay: [valley, yard]}
  mill: {at: {PLACE_MILL, height: 9 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}
  ridge: {at: {PLACE_RIDGE, height: 12 m}, radios: {valley: {power: 20 dBm}}, relay: [valley]}
  tarn: {at: {PLACE_TARN}, radios: {valley: {power: 5 dBm}}}
  walker: {at: {PLACE_WALKER}, site-loss: 3 dB, radios: {valley: {power: 8 dBm}, yard: {power: 8 dBm}}}
groups: {walkers: [walker]}
traffic:
  talk: {from: walker, to: everyone, payload: 20 bytes, every: 1 min}
variants:
  without-mill: {set: {nodes.mill.relay: []}}
"""
PLANE = {"BARN": "x: 0 m, y: 0 m", "MILL": "x: 1500 m, y: 300 m", "RIDGE": "x: 700 m, y: 900 m",
         "TARN": "x: 400 m, y: 500 m", "WALKER": "x: 800 m, y: 200 m"}
EARTH = {"BARN": "lat: 60.1, lon: 179.99", "MILL": "lat: 60.103, lon: -179.985", "RIDGE": "lat: 60.108, lon: -179.998",
         "TARN": "lat: 60.104, lon: 179.998", "WALKER": "lat: 60.102, lon: -179.996"}


def spate(*arguments):
    return subprocess.run([SPATE, *arguments], capture_output=True, check=False, text=True,
                          stdin=subprocess.DEVNULL)


def write(name, text):
    with open(name, "w", encoding="ascii") as file:
        file.write(text)


def read(name):
    with open(name, encoding="utf-8") as file:
        return file.read()


def part(text, name):
    return json.loads(re.search(f'<script type="application/json" id="{name}">(.*?)</script>', text, re.DOTALL).group(1))


def page(command, scenario, *arguments):
    """The text of its page, and what it said."""
    if os.path.exists("page.html"):
        os.remove("page.html")
    done = spate(command, scenario, "--quiet", "--report", "page.html", *arguments)
    if done.returncode != 0:
        check(f"{command} {scenario} {arguments}", False, done.stderr)
    return read("page.html"), done.stderr


def fails(name, words, *arguments):
    done = spate("run", "plane.yaml", *arguments)
    check(name, done.returncode == 2 and words in done.stderr and not os.path.exists("none.html"),
          f"{done.returncode}: {done.stderr}")


# ---- coverage


def step_of(cell):
    if cell["both_ways"] > 0:
        return min(cell["both_ways"], 4) + 2
    return 2 if cell["heard_by"] + cell["hears"] > 0 else 1


def cells_of_layer(grid, layer, keys):
    """By place: the step; what is left out is in none."""
    steps = [step for step, n in layer["runs"] for _ in range(n)]
    found = {}
    for i, step in enumerate(steps):
        x = grid["west"] + (i % grid["columns"] + 0.5) * grid["width"]
        y = grid["south"] + (grid["rows"] - i // grid["columns"] - 0.5) * grid["height"]
        x = (x + 180) % 360 - 180 if "lon" in keys else x
        if step > 0:
            found[round(x, DIGITS), round(y, DIGITS)] = step
    return found, len(steps)


def check_same(name, detail, variant, scenario, *arguments):
    """The cells of a variant's layers are those of spate coverage."""
    coverage = detail["variants"][variant]["coverage"]
    keys = ("lon", "lat") if detail["places"]["form"] == "degrees" else ("x", "y")
    done = spate("coverage", scenario, "--format", "json", *arguments)
    wanted = json.loads(done.stdout)
    bearers = [bearer["name"] for bearer in detail["variants"][variant]["bearers"]]
    equal(f"{name}: layers", [bearers[layer["bearer"]] for layer in coverage["layers"]],
          [layer["bearer"] for layer in wanted["layers"]])
    kinds = set()
    for layer, other in zip(coverage["layers"], wanted["layers"]):
        found, n = cells_of_layer(coverage["grid"], layer, keys)
        cells = {(round(cell[keys[0]], DIGITS), round(cell[keys[1]], DIGITS)): step_of(cell) for cell in wanted["cells"]
                 if cell["bearer"] == other["bearer"]}
        equal(f"{name}, {other['bearer']}: all cells", (n, layer["relays"]),
              (wanted["columns"] * wanted["rows"], other["relays"]))
        wrong = [(place, found.get(place), cells.get(place)) for place in {*found, *cells}
                 if found.get(place) != cells.get(place)]
        equal(f"{name}, {other['bearer']}: each is that of spate coverage", wrong[:3], [])
        kinds |= set(found.values())
    check(f"{name}: they are of several kinds", len(kinds) > 2, kinds)


HOW = ("--radio", "walker", "--cell", "60 m", "--margin", "400 m", "--height", "2.5 m")


def check_coverage():
    text, _ = page("run", "plane.yaml", "--coverage", *HOW)
    detail = part(text, "result")["detail"]
    check_same("plane", detail, 0, "plane.yaml", *HOW)
    coverage = detail["variants"][0]["coverage"]
    equal("the page knows whose radio, and how high", (detail["variants"][0]["nodes"][coverage["node"]]["name"],
          coverage["height_m"], coverage["grid"]["cell_m"]), ("walker", 2.5, 60))
    equal("steps have the colours of docs/ground.md", ["#%02x%02x%02x" % tuple(step["colour"][:3]) for step in
          part(text, "additions")["steps"]][1:], ["#00204d", "#31446b", "#666970", "#958f78", "#cbba69", "#ffea46"])
    for jobs in ("1", "3"):
        check(f"threads change no page: {jobs}", page("run", "plane.yaml", "--coverage", *HOW, "--jobs", jobs)[0] == text)
    one = ("--bearer", "yard", "--area", "-100,-50,900,500", *HOW[:4])
    check_same("an area", part(page("run", "plane.yaml", "--coverage", *one)[0], "result")["detail"], 0, "plane.yaml", *one)
    text, _ = page("compare", "plane.yaml", "--coverage", *HOW)
    detail = part(text, "result")["detail"]
    check_same("a variant", detail, 1, "plane.yaml", "--variant", "without-mill", *HOW)
    check("variants have layers of their own", detail["variants"][0]["coverage"] != detail["variants"][1]["coverage"])
    equal("without --coverage there is none", ["coverage" in variant for variant in part(
        page("compare", "plane.yaml")[0], "result")["detail"]["variants"]], [False, False])


def check_defaults():
    """What is carried, and how fine, where nothing is said."""
    detail = part(page("run", "plane.yaml", "--coverage")[0], "result")["detail"]
    coverage = detail["variants"][0]["coverage"]
    cell_m = coverage["grid"]["cell_m"]
    equal("the first by name that does not relay is carried", detail["variants"][0]["nodes"][coverage["node"]]["name"], "tarn")
    # The box of the nodes is 1500 m x 900 m, with its margin 1800 m x 1200 m: 10 m make 21600 cells.
    equal("the side is the first round one with at most 20000 cells", cell_m, 20)
    check_same("without options", detail, 0, "plane.yaml", "--radio", "tarn", "--cell", f"{cell_m} m", "--margin", "150 m")
    detail = part(page("run", "plane.yaml", "--coverage", "--bearer", "yard")[0], "result")["detail"]
    coverage = detail["variants"][0]["coverage"]
    equal("... on a bearer, of those that have it", detail["variants"][0]["nodes"][coverage["node"]]["name"], "walker")
    relays = [word for name in ("tarn", "walker") for word in ("--set", f"nodes.{name}.relay=valley")]
    detail = part(page("run", "plane.yaml", "--coverage", *relays)[0], "result")["detail"]
    equal("where all relay, the first", detail["variants"][0]["coverage"]["node"], 0)


def check_earth():
    how = ("--radio", "walker", "--cell", "80 m", "--margin", "300 m")
    text, _ = page("run", "earth.yaml", "--coverage", *how)
    detail, added = part(text, "result")["detail"], part(text, "additions")
    check_same("earth", detail, 0, "earth.yaml", *how)
    grid = detail["variants"][0]["coverage"]["grid"]
    corner, across, down = added["layers"]["coverage"][0]
    off = []
    for node, way in zip(detail["variants"][0]["nodes"], added["places"][0]):
        along = ((node["lon"] - grid["west"]) % 360) / (grid["columns"] * grid["width"])
        below = 1 - (node["lat"] - grid["south"]) / (grid["rows"] * grid["height"])
        drawn = [corner[k] + along * across[k] + below * down[k] for k in (0, 1)]
        off.append(math.dist(drawn, way[0]))
    # w h tan(60 degrees) / 2 R with w and h below 1.5 km: 0.3 m.
    check("in degrees the layer lies under its nodes", max(off) < 0.6, off)


def check_errors():
    fails("--coverage without a page", "--coverage needs --report FILE.html", "--coverage")
    for option, value in (("radio", "walker"), ("bearer", "yard"), ("cell", "20 m"), ("height", "2 m"),
                          ("area", "0,0,1,1"), ("margin", "2 m")):
        fails(f"--{option} without --coverage", f"--{option} needs --coverage", "--report", "none.html", f"--{option}", value)
    layer = ("--report", "none.html", "--coverage")
    fails("no such node", "did you mean 'walker'?", *layer, "--radio", "walkr")
    fails("a group", "'walkers' is a group", *layer, "--radio", "walkers")
    fails("no such radio", "'tarn' has no radio on", *layer, "--radio", "tarn", "--bearer", "yard")
    fails("no such bearer", "there is no bearer", *layer, "--bearer", "vally")
    fails("too many cells", "at most 100000 can be judged: --cell", *layer, "--cell", "1 m")
    fails("a strip", "too long a strip", *layer, "--cell", "0.1 m", "--area", "0,0,1100,0.1")
    fails("a side without a unit", "--cell: ", *layer, "--cell", "20")
    fails("an area", "is not X0,Y0,X1,Y1", *layer, "--area", "1,2,3")


# ---- what is hidden


def check_hidden(scenario):
    text, said = page("run", scenario, "--coverage", *HOW, "--blur", "100 m")
    check(f"--blur leaves layers out of {scenario}: '\"runs\"', '\"shades\"'", '"runs"' not in text and
          '"shades"' not in text and '"layers": {"relief": null, "coverage": [null]}' in text)
    check("... and says so", "--blur: the page has no coverage layer" in said and "are left out" in text, said)
    found = part(page("run", scenario, "--coverage", *HOW, "--anonymous")[0], "result")["detail"]
    node = found["variants"][0]["nodes"][found["variants"][0]["coverage"]["node"]]
    equal("--anonymous keeps whose radio it is, by its number", (node["x_m"], node["y_m"], node["name"][:5]), (800, 200, "node "))
    equal("... and no name of a file", found.get("relief", {}).get("elevation"), None)


# ---- the relief


def grid_file(name, columns, rows, height):
    write(name, f"ncols {columns}\nnrows {rows}\nxllcorner -600\nyllcorner -600\ncellsize 20\nNODATA_value -9999\n" +
          "".join(" ".join(f"{height(column, row):.4f}" for column in range(columns)) + "\n" for row in range(rows)))


def relief_of(name, height):
    grid_file(f"{name}.asc", 140, 110, height)
    write(f"{name}.yaml", HOLLOW_PLANE.replace("run:", f"terrain: {{elevation: {name}.asc}}\nrun:"))
    return part(page("run", f"{name}.yaml")[0], "result")["detail"]["relief"]


def check_relief():
    # The box with its margin is 1800 m x 1200 m; the model's cells are wider than a 256th of it.
    level = relief_of("level", lambda column, row: 300)
    equal("the relief has a point for each cell of a coarse model", [level["grid"][key] for key in (
        "west", "south", "cell_m", "columns", "rows")], [-150, -150, 20, 90, 60])
    equal("level ground has the sine of 45 degrees", set(level["shades"]), {SHADES[1 + round(math.sqrt(0.5) * 62)]})
    equal("... of the model that is named", level["elevation"], "level.asc")
    slope = 20 * math.sqrt(0.5)  # by 1 in 1 towards the north-west
    equal("a slope of 45 degrees that faces the light is as light as can be", set(relief_of(
        "slope", lambda column, row: 300 + slope * (column + row))["shades"]), {"/"})
    hole = relief_of("hole", lambda column, row: -9999 if 70 <= column < 80 and row < 60 else 300)
    gaps = [i for i, shade in enumerate(hole["shades"]) if shade == "A"]
    # The model begins at x = -600 m in the west, and at y = 1600 m in the north; the relief at -150 m and 1050 m.
    columns, rows = {i % 90 for i in gaps}, {i // 90 for i in gaps}
    check("holes are left, with their edge", {48, 56} <= columns <= set(range(46, 60)) and 0 in rows and
          max(rows) in (31, 32, 33), (sorted(columns), sorted(rows)))
    check_same("over a hole", part(page("run", "hole.yaml", "--coverage", *HOW)[0], "result")["detail"], 0, "hole.yaml", *HOW)
    wide = part(page("run", "level.yaml", "--set", "nodes.barn.at.x=-500 m", "--set", "nodes.mill.at.x=2100 m",
                     "--set", "nodes.tarn.moves={along: [{x: 2150 m, y: 1500 m}], speed: 1 m/s}")[0], "result")
    grid = wide["detail"]["relief"]["grid"]
    check("ways count too", grid["south"] + grid["rows"] * grid["height"] > 1500 and
          grid["west"] + grid["columns"] * grid["width"] > 2150, grid)
    spate("run", "level.yaml", "--set", "run.duration=2 min", "--report", "page.html", "--quiet")
    equal("nothing hides a relief that is not hidden", "relief" in part(read("page.html"), "result")["detail"], True)


# ---- results with layers


def check_results():
    done = spate("run", "level.yaml", "--quiet", "--report", "at-once.html", "--coverage", *HOW, "--format", "json", "--detail")
    write("kept.json", done.stdout)
    equal("a result has its layers too, and makes the same page", spate("report", "kept.json").stdout, read("at-once.html"))
    result = json.loads(done.stdout)
    try:
        import jsonschema
        errors = jsonschema.Draft202012Validator(json.loads(read(SCHEMA))).iter_errors(result)
        equal("it follows the schema", [error.message for error in errors][:3], [])
    except ImportError:
        skip("it follows the schema", "python3-jsonschema is not installed")

    def broken(name, words, change):
        other = json.loads(done.stdout)
        change(other["detail"])
        write("broken.json", json.dumps(other))
        made = spate("report", "broken.json")
        check(f"broken: {name}", made.returncode == 2 and words in made.stderr and made.stdout == "", made.stderr)

    first = lambda detail: detail["variants"][0]["coverage"]
    broken("a cell too few", "layer 0: 'runs' has ", lambda detail: first(detail)["layers"][0]["runs"].pop())
    broken("a step that there is not", "'step' is out of range", lambda detail: first(detail)["layers"][0]["runs"][0].__setitem__(0, 7))
    broken("a node that there is not", "'node' is an index out of range", lambda detail: first(detail).update(node=99))
    broken("no width", "'width' is out of range", lambda detail: first(detail)["grid"].update(width=0))
    broken("too many columns", "'columns' is out of range", lambda detail: first(detail)["grid"].update(columns=100000))
    broken("a shade too many", "'shades' must be 5400 letters", lambda detail: detail["relief"].update(
        shades=detail["relief"]["shades"] + "A"))
    broken("a sign that is no shade", "'shades' must be 5400 letters", lambda detail: detail["relief"].update(
        shades="<" + detail["relief"]["shades"][1:]))


def hollow(places):
    text = HOLLOW
    for name, place in places.items():
        text = text.replace(f"PLACE_{name}", place)
    return text


HOLLOW_PLANE = hollow(PLANE)

with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    write("plane.yaml", HOLLOW_PLANE)
    write("earth.yaml", hollow(EARTH))
    check_coverage()
    check_defaults()
    check_earth()
    check_errors()
    check_hidden("plane.yaml")
    grid_file("any.asc", 4, 4, lambda column, row: 1)
    if "without GDAL" in spate("run", "plane.yaml", "--set", "terrain={elevation: any.asc}").stderr:
        skip("the relief", "this build has no GDAL")
    else:
        check_relief()
        check_hidden("level.yaml")
        check_results()
    os.chdir("/")
end()
