"""spate coverage: the grid, its cells against spate links, maps and pictures by other readers.

    check-coverage.py SPATE
"""

import csv
import io
import json
import math
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import zlib

from tap import check, end, equal, skip

SPATE = os.path.realpath(sys.argv[1])

# Two bearers, a sector, walls, noise, a model between groups, a loss as given, a relay that is carried
# itself; every node has its own figures.
HOLLOW = """spate: 1
title: A walk about the hollow
run: {duration: 10 min}
bearers:
  valley:
    kind: lora
    frequency: 869.5 MHz
    bandwidth: 125 kHz
    spreading-factor: 7
    propagation:
      model: log-distance
      exponent: 3.6
      shadowing: 6 dB
      between:
        - {groups: [high, walkers], model: log-distance, exponent: 3.2, extra-loss: 2 dB}
  yard:
    kind: dsss
    frequency: 2437 MHz
    propagation: {model: two-ray, extra-loss: 8 dB}
nodes:
  ridge:
    at: {PLACE_RIDGE, height: 12 m}
    radios: {valley: {power: 22 dBm, antenna: {gain: 5 dBi}, feeder-loss: 0.5 dB, noise-rise: 2 dB}}
    relay: [valley]
  gatehouse:
    at: {PLACE_GATEHOUSE, height: 6 m}
    site-loss: 3 dB
    radios:
      valley:
        power: 14 dBm
        antenna: {gain: 11 dBi, azimuth: 70 deg, beamwidth: 60 deg, front-to-back: 20 dB}
      yard: {power: 20 dBm, antenna: {gain: 8 dBi}}
    relay: [valley, yard]
  loft:
    at: {PLACE_LOFT, height: 7 m}
    radios: {yard: {power: 8 dBm}, valley: {power: 2 dBm, noise-rise: 6 dB}}
    relay: [valley, yard]
  sensor:
    at: {PLACE_SENSOR, height: 1 m}
    radios: {valley: {power: 22 dBm}}
  walker:
    at: {PLACE_WALKER, height: 9 m}
    site-loss: 4 dB
    radios:
      valley: {power: 10 dBm, feeder-loss: 0.25 dB, noise-rise: 1 dB}
      yard: {power: 12 dBm, antenna: {gain: 1 dBi}}
    relay: [valley]
  soil:
    count: 2
    at: {PLACE_SENSOR, height: 1 m}
    radios: {valley: {power: 14 dBm}}
groups: {high: [ridge], walkers: [walker]}
links:
  - {between: [walker, ridge], loss: 40 dB}
traffic:
  talk: {class: talk, from: walker, to: ridge, payload: 20 bytes, every: 1 min}
"""
PLANE = {"RIDGE": "x: 0 m, y: 0 m", "GATEHOUSE": "x: 1900 m, y: 250 m", "LOFT": "x: 700 m, y: 1010 m",
         "SENSOR": "x: 400 m, y: 400 m", "WALKER": "x: 100 m, y: 100 m"}
EARTH = {"RIDGE": "lat: 50.1, lon: 9.95", "GATEHOUSE": "lat: 50.103, lon: 9.975",
         "LOFT": "lat: 50.109, lon: 9.96", "SENSOR": "lat: 50.104, lon: 9.955",
         "WALKER": "lat: 50.101, lon: 9.951"}
DATE_LINE = {"RIDGE": "lat: 0, lon: 179.99", "GATEHOUSE": "lat: 0.002, lon: -179.99",
             "LOFT": "lat: 0.004, lon: -179.995", "SENSOR": "lat: 0, lon: 180",
             "WALKER": "lat: 0, lon: 179.995"}
RELAYS = {"valley": {"ridge", "gatehouse", "loft"}, "yard": {"gatehouse", "loft"}}


def hollow(places):
    text = HOLLOW
    for name, place in places.items():
        text = text.replace(f"PLACE_{name}", place)
    return text


def spate(*arguments, text=False):
    return subprocess.run([SPATE, *arguments], capture_output=True, check=False, text=text,
                          stdin=subprocess.DEVNULL)


def coverage(*arguments, scenario="plane.yaml"):
    done = spate("coverage", scenario, "--radio", "walker", *arguments)
    if done.returncode != 0:
        check(f"coverage {arguments}", False, done.stderr.decode())
    return done.stdout


def cells(*arguments, scenario="plane.yaml"):
    return json.loads(coverage("--format", "json", *arguments, scenario=scenario))


def fails(name, status, words, *arguments, scenario="plane.yaml"):
    done = spate("coverage", scenario, *arguments, text=True)
    check(name, done.returncode == status and words in done.stderr and done.stdout == "",
          f"{done.returncode}: {done.stderr}{done.stdout[:100]}")


# ---- the grid


def check_grid():
    all_cells = cells("--cell", "500 m")
    places = [(cell["x"], cell["y"]) for cell in all_cells["cells"] if cell["bearer"] == "yard"]
    # The nodes' box is 1900 m x 1010 m: four columns, three rows, of which the last reach over it.
    equal("the grid begins in the south-west corner, its rows in the north", places,
          [(x, y) for y in (1250, 750, 250) for x in (250, 750, 1250, 1750)])
    equal("its box", all_cells["area"], {"x0": 0, "y0": 0, "x1": 2000, "y1": 1500})
    wide = cells("--cell", "0.5 km", "--margin", "100 m", "--area", "0,0,800,300")
    equal("the area grows by the margin", wide["area"], {"x0": -100, "y0": -100, "x1": 900, "y1": 400})
    exact = cells("--cell", "0.1 m", "--area", "0,0,0.3,0.7")
    equal("a side of whole cells has no more of them", (exact["columns"], exact["rows"]), (3, 7))
    one = cells("--cell", "1000 km")
    equal("one cell is enough", (one["columns"], one["rows"]), (1, 1))
    equal("units may be said", cells("--area", "0 km, 0 m, 0.5 km, 250 m")["cells"],
          cells("--area", "0,0,500,250")["cells"])


def check_grid_on_the_earth():
    earth = cells("--cell", "100 m", scenario="earth.yaml")
    # WGS 84 at 50.1045 degrees: a degree of latitude is 111.230 km, one of longitude 71.534 km (from
    # the radii of curvature M = 6373.0 km and N = 6390.7 km).
    lat = math.radians((50.1 + 50.109) / 2)
    a, e2 = 6378137.0, 0.00669437999014
    n = a / math.sqrt(1 - e2 * math.sin(lat) ** 2)
    m = n * (1 - e2) / (1 - e2 * math.sin(lat) ** 2)
    lats = sorted({cell["lat"] for cell in earth["cells"]})
    lons = sorted({cell["lon"] for cell in earth["cells"]})
    sides = (math.radians(lats[1] - lats[0]) * m, math.radians(lons[1] - lons[0]) * n * math.cos(lat))
    check("on the earth a cell has its side in the middle of the area",
          all(abs(side - 100) < 0.01 for side in sides), sides)


# ---- the cells


def walkers_at(found, bare, height):
    """The hollow with a walker in the place of each cell instead of the one."""
    head, walker = bare.split("  walker:\n")
    walker, tail = walker.split("  soil:\n")
    names = []
    for number, cell in enumerate(found):
        place = ", ".join(f"{key}: {cell[key]:.9f}{' m' if key in 'xy' else ''}"
                          for key in ("x", "y", "lat", "lon") if key in cell)
        names.append(f"w{number}")
        lines = walker.splitlines()
        head += f"  w{number}:\n    at: {{{place}, height: {height}}}\n" + "\n".join(lines[1:]) + "\n"
    return (head + "  soil:\n" + tail.replace("walkers: [walker]", f"walkers: [{', '.join(names)}]")
            .replace("from: walker", "from: w0"))


def links_of_relays():
    """By bearer, walker and relay: what each hears of the other."""
    up, down = {}, {}
    nodes = [word for relay in sorted(RELAYS["valley"]) for word in ("--node", relay)]
    for row in json.loads(spate("links", "many.yaml", *nodes, "--format", "json").stdout)["links"]:
        relays = RELAYS[row["bearer"]]
        if row["to"] in relays and row["from"][0] == "w":
            up.setdefault((row["bearer"], row["from"]), {})[row["to"]] = row
        elif row["from"] in relays and row["to"][0] == "w":
            down.setdefault((row["bearer"], row["to"]), {})[row["from"]] = row
    return up, down


def check_against_links(name, text, scenario, *arguments):
    found = cells("--height", "2.5 m", *arguments, scenario=scenario)["cells"]
    # A loss as given goes with the place, not with the radio.
    bare = text.replace("  - {between: [walker, ridge], loss: 40 dB}\n", "").replace("links:\n", "")
    with open("many.yaml", "w", encoding="ascii") as file:
        file.write(walkers_at(found, bare, "2.5 m"))
    ups, downs = links_of_relays()
    wrong, seen = [], set()
    for number, cell in enumerate(found):
        up, down = ups[cell["bearer"], f"w{number}"], downs[cell["bearer"], f"w{number}"]
        heard = {relay for relay, row in up.items() if row["margin_db"] >= 0}
        hears = {relay for relay, row in down.items() if row["margin_db"] >= 0}
        best = min(up, key=lambda relay: (-up[relay]["received_dbm"], relay))
        got = (cell["heard_by"], cell["hears"], cell["both_ways"], cell["best"])
        seen.add(got[:3])
        if got != (len(heard), len(hears), len(heard & hears), best) or \
                abs(cell["best_dbm"] - up[best]["received_dbm"]) > 1e-4:
            wrong.append((cell, up, down))
    check(f"{name}: each of {len(found)} cells is what links says of a walker there",
          not wrong and len(seen) > 3, (wrong[:3], seen))
    return found


# A ridge from north to south, a hill in the east, no data in the north-eastern corner; 50 m cells from (-200, -200) on.
GRID_COLUMNS, GRID_ROWS, GRID_SIDE, GRID_CORNER = 46, 30, 50, -200


def ground_m(column, row):
    if column >= 44 and row < 2:
        return -9999
    ridge = 90 * math.exp(-((column - 13) / 3) ** 2) * (1 - row / 60)
    return 300 + row + ridge + 60 * math.exp(-((column - 33) / 4) ** 2 - ((row - 12) / 5) ** 2)


def check_terrain():
    with open("ground.asc", "w", encoding="ascii") as file:
        file.write(f"ncols {GRID_COLUMNS}\nnrows {GRID_ROWS}\nxllcorner {GRID_CORNER}\nyllcorner {GRID_CORNER}\n"
                   f"cellsize {GRID_SIDE}\nNODATA_value -9999\n")
        for row in range(GRID_ROWS):
            file.write(" ".join(f"{ground_m(column, row):.2f}" for column in range(GRID_COLUMNS)) + "\n")
    text = hollow(PLANE).replace("run:", "terrain: {elevation: ground.asc}\nrun:")
    text = text.replace("model: log-distance\n      exponent: 3.6", "model: terrain\n      extra-loss: 26 dB")
    text = text.replace("model: two-ray, extra-loss: 8 dB", "model: terrain, extra-loss: 30 dB")  # much of it silent in any case
    # The loft is heard where it does not hear, and where the gatehouse is the best.
    text = text.replace("yard: {power: 8 dBm}", "yard: {power: 36 dBm}").replace("gain: 8 dBi", "gain: 14 dBi")
    with open("ground.yaml", "w", encoding="ascii") as file:
        file.write(text)
    if spate("check", "ground.yaml").returncode != 0:
        skip("coverage over terrain", "this build has no GDAL")
        return
    found = check_against_links("ground", text, "ground.yaml", "--cell", "130 m", "--margin", "300 m")
    places = {(cell["x"], cell["y"]) for cell in found}
    equal("cells outside the raster are left out",
          [place for place in places if not (-175 <= place[0] <= 2075 and -175 <= place[1] <= 1275)], [])
    corner = cells("--cell", "50 m", "--area", "1800,1100,2050,1250", "--bearer", "yard", scenario="ground.yaml")
    known = {(cell["x"], cell["y"]) for cell in corner["cells"]}
    check("cells without data are left out", (2025, 1225) not in known and (1925, 1125) in known,
          sorted(known))
    table = coverage("--cell", "130 m", "--margin", "300 m", scenario="ground.yaml").decode()
    check("... and the table says why", "cells left out: the place lies outside the height model at x" in table, table)
    flat = cells("--cell", "130 m", "--set", "bearers.valley.propagation.model=free-space", "--set",
                 "bearers.yard.propagation.model=free-space", scenario="ground.yaml")["cells"]
    check("the ground hides the walker", sum(cell["heard_by"] for cell in flat) >
          sum(cell["heard_by"] for cell in found), len(flat))
    for jobs in ("1", "5"):
        equal(f"threads change nothing over terrain: {jobs}", coverage("--cell", "60 m", "--format", "csv", "--jobs",
              jobs, scenario="ground.yaml"), coverage("--cell", "60 m", "--format", "csv", scenario="ground.yaml"))
    fails("nowhere but outside", 2, "no cell can be judged: the place lies outside the height model", "--radio",
          "walker", "--area", "5000,0,5100,100", scenario="ground.yaml")


def check_selection():
    both = cells("--cell", "200 m")["cells"]
    one = cells("--cell", "200 m", "--bearer", "yard")["cells"]
    equal("--bearer leaves the others out", one, [cell for cell in both if cell["bearer"] == "yard"])
    rows = list(csv.DictReader(io.StringIO(coverage("--cell", "200 m", "--format", "csv").decode())))
    equal("CSV has the same cells", [[row["bearer"], float(row["x"]), float(row["best_dbm"])] for row in rows],
          [[cell["bearer"], cell["x"], cell["best_dbm"]] for cell in both])
    for form in ("table", "json", "csv"):
        equal(f"threads change no {form}", coverage("--cell", "40 m", "--format", form, "--jobs", "1"),
              coverage("--cell", "40 m", "--format", form, "--jobs", "7"))
    alone = cells("--cell", "1 km", "--set", "nodes.loft.relay=[valley]", "--set",
                  "nodes.gatehouse.relay=[valley]", "--bearer", "yard")
    equal("without relays there is nobody", {(cell["heard_by"], cell["hears"], cell["best"], cell["best_dbm"])
                                              for cell in alone["cells"]}, {(0, 0, None, None)})


def check_summary():
    found = cells("--cell", "100 m")
    for layer in found["layers"]:
        of = [cell for cell in found["cells"] if cell["bearer"] == layer["bearer"]]
        for key in ("heard_by", "hears", "both_ways"):
            equal(f"{layer['bearer']}: {key} by number of relays", layer[key],
                  [sum(min(cell[key], 4) == n for cell in of) for n in range(5)])
        empty = {(cell["x"], cell["y"]) for cell in of if cell["both_ways"] == 0}
        sizes = []
        while empty:
            patch, edge = set(), [empty.pop()]
            while edge:
                x, y = edge.pop()
                patch.add((x, y))
                for near in ((x - 100, y), (x + 100, y), (x, y - 100), (x, y + 100)):
                    if near in empty:
                        empty.remove(near)
                        edge.append(near)
            box = [min(x for x, _ in patch) - 50, min(y for _, y in patch) - 50,
                   max(x for x, _ in patch) + 50, max(y for _, y in patch) + 50]
            sizes.append((len(patch), box))
        largest = max(size for size, _ in sizes)
        check(f"{layer['bearer']}: the largest hole", layer["hole"]["cells"] == largest and
              (largest, list(layer["hole"]["area"].values())) in sizes, (layer["hole"], sizes))
    # Two holes that only the ends of rows would join.
    strip = cells("--cell", "200 m", "--bearer", "yard", "--area=-9000,0,9000,400")
    empty = [cell["x"] < 1000 for cell in strip["cells"] if cell["both_ways"] == 0]
    hole = strip["layers"][0]["hole"]["cells"]
    check("holes do not hang together around the edge", 0 < sum(empty) < len(empty) and
          hole == max(sum(empty), len(empty) - sum(empty)), (hole, sum(empty), len(empty)))
    table = coverage("--cell", "100 m").decode()
    yard = next(layer for layer in found["layers"] if layer["bearer"] == "yard")
    share = f"{100 * yard['both_ways'][0] / yard['judged']:.1f} %"
    check("the table says the same", share in table.split("bearer yard")[1].split("\n1 ")[0] and
          f"{yard['hole']['cells'] * 0.01:.4g} km2" in table and "no promise" in table, table)


def check_left_out():
    """Hata holds from 1 km on, and for masts of 30 m or more."""
    far = ["--set", "bearers.valley.propagation={model: hata, between: []}", "--set",
           "nodes.ridge.at={x: -3000 m, y: 0 m, height: 35 m}", "--bearer", "valley"]
    for name in ("gatehouse", "loft"):
        far += ["--set", f"nodes.{name}.relay=[]"]
    for name in ("gatehouse", "loft", "sensor", "soil"):
        far += ["--set", f"nodes.{name}.radios={{yard: {{power: 1 dBm}}}}"]
    area = ["--cell", "200 m", "--area", "-3000,0,-1000,200"]
    found = cells(*far, *area)
    equal("cells where the model does not hold are left out",
          ([cell["x"] for cell in found["cells"]], found["layers"][0]["left_out"]),
          ([-1900, -1700, -1500, -1300, -1100], 5))
    table = coverage(*far, *area).decode()
    check("... and the table says why", "5 of 10 cells left out: the Hata model does not hold" in table,
          table)
    fails("no cell is left", 2, "no cell can be judged: the Hata model", "--radio", "walker", *far,
          "--area", "-3000,0,-2900,50")


# ---- GeoJSON

GEOMETRY = {"enum": ["Polygon", "MultiPolygon"]}
PROPERTIES = ["lat", "lon", "bearer", "heard_by", "hears", "both_ways", "best", "best_dbm"]
SCHEMA = {
    "type": "object", "required": ["type", "features"], "additionalProperties": False,
    "properties": {"type": {"const": "FeatureCollection"}, "features": {
        "type": "array", "minItems": 1, "items": {
            "type": "object", "required": ["type", "geometry", "properties"], "additionalProperties": False,
            "properties": {
                "type": {"const": "Feature"},
                "geometry": {"type": "object", "required": ["type", "coordinates"],
                             "properties": {"type": GEOMETRY, "coordinates": {"type": "array"}}},
                "properties": {"type": "object", "required": PROPERTIES, "additionalProperties": False,
                               "properties": {name: {} for name in PROPERTIES}}}}}}}


def area_of(ring):
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, ring[1:])) / 2


def check_rings(name, features):
    polygons = [polygon for feature in features
                for polygon in ([feature["geometry"]["coordinates"]]
                                if feature["geometry"]["type"] == "Polygon"
                                else feature["geometry"]["coordinates"])]
    check(f"{name}: rings are closed, counter-clockwise and within 180 degrees", all(
        len(polygon) == 1 and polygon[0][0] == polygon[0][-1] and area_of(polygon[0]) > 0 and
        all(-180 <= x <= 180 and abs(x - polygon[0][0][0]) < 1 for x, _ in polygon[0])
        for polygon in polygons), polygons[:2])


def check_geojson():
    coverage("--cell", "150 m", "--bearer", "valley", "--output", "map.geojson", scenario="earth.yaml")
    with open("map.geojson", encoding="utf-8") as file:
        found = json.load(file)
    try:
        import jsonschema
        errors = [error.message for error in jsonschema.Draft7Validator(SCHEMA).iter_errors(found)]
        equal("GeoJSON as RFC 7946 has it", errors, [])
    except ImportError:
        skip("GeoJSON as RFC 7946 has it", "python3-jsonschema is not installed")
    check_rings("GeoJSON", found["features"])
    plain = cells("--cell", "150 m", "--bearer", "valley", scenario="earth.yaml")["cells"]
    equal("its properties are the cells", [feature["properties"] for feature in found["features"]], plain)
    off = [feature for feature in found["features"]
           if abs(sum(x for x, _ in feature["geometry"]["coordinates"][0][:4]) / 4 -
                  feature["properties"]["lon"]) > 1e-7 or
           abs(sum(y for _, y in feature["geometry"]["coordinates"][0][:4]) / 4 -
               feature["properties"]["lat"]) > 1e-7]
    equal("longitude comes first, and the centre lies in the middle", off, [])
    line = json.loads(coverage("--cell", "150 m", "--bearer", "valley", "--format", "geojson",
                               scenario="date-line.yaml"))["features"]
    check_rings("at the 180th meridian", line)
    cut = [feature for feature in line if feature["geometry"]["type"] == "MultiPolygon"]
    lons = [feature["properties"]["lon"] for feature in line]
    check("... cells across it are cut", 0 < len(cut) < len(line) / 5 and min(lons) < -179.9 and
          max(lons) > 179.9 and len(line) < 300, (len(cut), len(line)))
    if shutil.which("ogrinfo") is None:
        skip("GDAL reads the map", "gdal-bin is not installed")
        return
    done = subprocess.run(["ogrinfo", "-ro", "-al", "-so", "map.geojson"], capture_output=True, text=True,
                          check=False)
    check("GDAL reads the map", f"Feature Count: {len(plain)}" in done.stdout and
          "Geometry: Polygon" in done.stdout and "heard_by: Integer" in done.stdout, done.stdout)


# ---- PNG: https://www.w3.org/TR/png-3/, read without a library for pictures


def unfilter(rows, width):
    lines, above = [], bytes(width)
    for kind, raw in rows:
        line = bytearray(raw)
        for i in range(width):
            left, up = line[i - 1] if i else 0, above[i]
            corner = above[i - 1] if i else 0
            guess = left + up - corner
            paeth = min((left, up, corner), key=lambda value: abs(guess - value))
            line[i] = (line[i] + (0, left, up, (left + up) // 2, paeth)[kind]) % 256
        lines.append(bytes(line))
        above = line
    return lines


def read_png(path):
    with open(path, "rb") as file:
        data = file.read()
    check("a PNG has its signature", data[:8] == b"\x89PNG\r\n\x1a\n", data[:8])
    at, chunks = 8, {}
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + length]
        if struct.unpack(">I", data[at + 8 + length:at + 12 + length])[0] != zlib.crc32(kind + body):
            check(f"the sum of chunk {kind}", False)
        chunks[kind] = chunks.get(kind, b"") + body
        at += 12 + length
    width, height, depth, colours, _, _, interlaced = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    equal("... eight bits of a palette", (depth, colours, interlaced), (8, 3, 0))
    raw = zlib.decompress(chunks[b"IDAT"])
    rows = [(raw[i], raw[i + 1:i + 1 + width]) for i in range(0, len(raw), width + 1)]
    palette = [tuple(chunks[b"PLTE"][i:i + 3]) for i in range(0, len(chunks[b"PLTE"]), 3)]
    return width, height, unfilter(rows, width), palette, chunks


# As docs/ground.md has them.
LEGEND = [(0x00, 0x20, 0x4d), (0x31, 0x44, 0x6b), (0x66, 0x69, 0x70), (0x95, 0x8f, 0x78),
          (0xcb, 0xba, 0x69), (0xff, 0xea, 0x46)]


def colour_of(cell):
    if cell["both_ways"] > 0:
        return LEGEND[min(cell["both_ways"], 4) + 1]
    return LEGEND[1 if cell["heard_by"] + cell["hears"] > 0 else 0]


def luminance(colour):
    """Relative luminance: https://www.w3.org/TR/WCAG22/#dfn-relative-luminance"""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
              for c in (value / 255 for value in colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def check_picture(scenario, x_key, y_key):
    arguments = ["--cell", "100 m", "--margin", "1500 m", "--bearer", "valley"]
    coverage(*arguments, "--output", "map.png", scenario=scenario)
    width, height, lines, palette, chunks = read_png("map.png")
    found = cells(*arguments, scenario=scenario)
    equal("a pixel for each cell", (width, height), (found["columns"], found["rows"]))
    with open("map.pgw", encoding="ascii") as file:
        right, skew_y, skew_x, down, x0, y0 = [float(line) for line in file]
    equal("the world file turns nothing", (skew_x, skew_y), (0, 0))
    wrong = []
    for i, cell in enumerate(found["cells"]):
        column, row = i % width, i // width
        place = (x0 + column * right, y0 + row * down)
        if palette[lines[row][column]] != colour_of(cell) or \
                abs(place[0] - cell[x_key]) > 1e-6 or abs(place[1] - cell[y_key]) > 1e-6:
            wrong.append((place, cell))
    equal("each pixel has its colour and its place", wrong[:3], [])
    check("... of several colours", len({pixel for line in lines for pixel in line}) > 3)
    check("... and the legend with it", b"from dark to light: none" in chunks[b"tEXt"], chunks[b"tEXt"])


def check_pictures():
    if b"cannot make pictures" in spate("coverage", "plane.yaml", "--radio", "walker", "--format", "png",
                                        "--output", "x.png").stderr:
        skip("pictures", "this build has no GDAL")
        return
    steps = [luminance(colour) for colour in LEGEND]
    check("colours go from dark to light, each well apart from the last",
          all((above + 0.05) / (below + 0.05) > 1.4 for below, above in zip(steps, steps[1:])), steps)
    check_picture("plane.yaml", "x", "y")
    check_picture("earth.yaml", "lon", "lat")
    coverage("--cell", "60 m", "--bearer", "valley", "--output", "map.png")
    piped = coverage("--cell", "60 m", "--bearer", "valley", "--format", "png")
    with open("map.png", "rb") as file:
        equal("standard output takes a picture too", piped, file.read())
    fails("a picture is of one bearer", 2, "--format png shows one bearer: give --bearer NAME", "--radio",
          "walker", "--format", "png")
    os.mkdir("other.pgw")
    fails("no place for the world file", 3, "cannot write other.pgw", "--radio", "walker", "--bearer", "yard",
          "--output", "other.png")
    check("... and no picture is left", not os.path.exists("other.png"))


# ---- bad input


def check_errors():
    radio = ["--radio", "walker"]
    fails("no radio", 2, "coverage needs --radio NODE")
    fails("no such node", 2, "did you mean 'walker'?", "--radio", "waker")
    fails("a group", 2, "'soil' is a group; name one of its nodes, as in 'soil-1'", "--radio", "soil")
    fails("no radio on that bearer", 2, "'sensor' has no radio on 'yard'; it has on valley", "--radio",
          "sensor", "--bearer", "yard")
    fails("no such bearer", 2, "did you mean 'valley'?", *radio, "--bearer", "vally")
    for bad in ("0 m", "-5 m", "nan m", "inf m", "25", "1e3 m", "2000 km", "0.01 m", ""):
        fails(f"a cell of '{bad}'", 2, "--cell: ", *radio, "--cell", bad)
    for bad in ("-1 m", "nan", "30 km"):
        fails(f"a height of '{bad}'", 2, "--height: ", *radio, "--height", bad)
    fails("a margin below 0", 2, "--margin: ", *radio, "--margin", "-1 m")
    for bad in ("", "0,0,10", "0,0,10,20,30", "0,0,nan,10", "0,0,1e9,10", "0,0,22000000,10", "a,b,c,d"):
        fails(f"an area '{bad}'", 2, "--area: ", *radio, "--area", bad)
    for bad in ("10,0,0,10", "0,10,10,0", "0,0,0,10", "-0,0,0,10"):
        fails(f"an area reversed, '{bad}'", 2, "has its corners reversed: first the least x and y", *radio,
              "--area", bad)
    fails("a format that there is not", 2, "--format", *radio, "--format", "jpeg")
    fails("two scenarios", 2, "coverage takes one scenario", "plane.yaml", *radio)
    fails("formulas in a map", 2, "--csv-text-cells needs --format csv", *radio, "--csv-text-cells")
    fails("a map of nowhere", 2, "nowhere on the earth", *radio, "--format", "geojson")
    # With nobody to hear, four million cells take no time.
    alone = ["--bearer", "yard", "--set", "nodes.loft.relay=[]", "--set", "nodes.gatehouse.relay=[]"]
    huge = spate("coverage", "plane.yaml", *radio, *alone, "--cell", "0.1 m", text=True)
    check("too many cells", huge.returncode == 2 and
          "an area of 1.9 x 1.01 km has 191900000 cells of 0.1 m, at most 4000000" in huge.stderr, huge.stderr)
    fits = huge.stderr.split('--cell "')[1].split('"')[0]
    smaller = f"{0.9 * float(fits.split()[0])} m"
    check("... the side that it names fits, and one a tenth below does not",
          spate("coverage", "plane.yaml", *radio, *alone, "--cell", fits).returncode == 0 and
          spate("coverage", "plane.yaml", *radio, *alone, "--cell", smaller).returncode == 2, fits)
    done = spate("coverage", "plane.yaml", *radio, "--output", "plane.yaml", text=True)
    check("the scenario is not overwritten", done.returncode == 2 and "would overwrite" in done.stderr,
          done.stderr)
    full = spate("coverage", "plane.yaml", *radio, "--format", "json", "--output", "/dev/full", text=True)
    check("a full disk", full.returncode == 3 and "cannot write" in full.stderr, full.stderr)


def check_errors_on_the_earth():
    radio = ["--radio", "walker"]
    fails("an area over the pole", 2, "--area: ", *radio, "--area", "0,80,10,91", scenario="earth.yaml")
    fails("longitudes reversed", 2, "first the least longitude and latitude", *radio, "--area",
          "10,50,9,51", scenario="earth.yaml")
    fails("a margin over the pole", 2, "over a pole", *radio, "--area", "0,89,10,90", "--margin", "10 km",
          "--cell", "10 km", scenario="earth.yaml")


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        for name, places in (("plane", PLANE), ("earth", EARTH), ("date-line", DATE_LINE)):
            with open(f"{name}.yaml", "w", encoding="ascii") as file:
                file.write(hollow(places))
        check_grid()
        check_against_links("plane", hollow(PLANE), "plane.yaml", "--cell", "550 m", "--margin", "600 m")
        check_selection()
        check_summary()
        check_left_out()
        check_terrain()
        check_pictures()
        check_errors()
        check_grid_on_the_earth()
        check_against_links("earth", hollow(EARTH), "earth.yaml", "--cell", "700 m", "--margin", "500 m")
        check_geojson()
        check_errors_on_the_earth()
        os.chdir("/")
    end()


main()
