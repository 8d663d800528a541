#!/usr/bin/env python3
"""check-maps.py SPATE yes|no - nodes from maps (GeoJSON, GPX, KML; yes: this build reads them), links as a map"""

import json
import os
import shutil
import subprocess
import sys
import tempfile

from tap import check, end, skip

SPATE, READS = os.path.realpath(sys.argv[1]), sys.argv[2] == "yes"

PLAN = """
spate: 1
run: {duration: 10 min}
bearers:
  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9, propagation: {model: free-space}}
nodes:
  mast: {at: {lat: 10.0 deg, lon: 20.0 deg, height: 9 m}, radios: {air: {power: 14 dBm}}, relay: [air]}
  garden: {place: {table: TABLE, height: 2 m}, radios: {air: {power: 10 dBm}}}
traffic:
  talk: {from: mast, to: garden, payload: 20 bytes, every: 1 min}
"""

TABLE = """name,lat,lon,height,power,relay
plum,10.01,20.02,,,
apple,10.02,20.01,4,,
pear,-0.0000001,20.5,2.5 m,17 dBm,air
"""


def feature(name, lon, lat, kind="Point", **properties):
    place = [lon, lat, 412] if kind == "Point" else [[lon, lat], [lon, lat + 1]]
    return {"type": "Feature", "properties": {"name": name, **properties},
            "geometry": {"type": kind, "coordinates": place}}


def geojson(*features, **others):
    return json.dumps({"type": "FeatureCollection", "features": list(features), **others})


GEOJSON = geojson(feature("plum", 20.02, 10.01, colour="blue"), feature("apple", 20.01, 10.02, height=4),
                  feature("pear", 20.5, -1e-7, height="2.5 m", power="17 dBm", relay="air"))
WITH_UNIT = geojson(feature("plum", 20.02, 10.01, **{"height (m)": 2}), feature("apple", 20.01, 10.02, **{"height (m)": 4}))
GPX_HEAD = '<?xml version="1.0"?>\n<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">\n'
GPX = GPX_HEAD + """<wpt lat="10.01" lon="20.02"><ele>330</ele><name>plum</name></wpt>
<wpt lat="10.02" lon="20.01"><ele>331</ele><name>apple</name><desc>tree</desc></wpt>
</gpx>
"""
TRACK = GPX.replace("</gpx>", '<trk><name>way</name><trkseg><trkpt lat="1" lon="2"/><trkpt lat="1" lon="3"/>'
                              "</trkseg></trk></gpx>")
KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>all</name>
<Placemark><name>plum</name><Point><coordinates>20.02,10.01,330</coordinates></Point></Placemark>
<Folder><name>deep</name><Folder><name>deeper</name>
<Placemark><name>apple</name><Point><coordinates>20.01,10.02</coordinates></Point></Placemark></Folder></Folder>
</Document></kml>
"""
SAME = "name,lat,lon\nplum,10.01,20.02\napple,10.02,20.01\n"


def run(folder, name, text, *arguments):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)
    plan = os.path.join(folder, "plan.yaml")
    with open(plan, "w", encoding="utf-8") as file:
        file.write(PLAN.replace("TABLE", name))
    return subprocess.run([SPATE, *(arguments or ("links", plan, "--format", "json")),
                           *((plan,) if arguments else ())],
                          capture_output=True, text=True, check=False)


def same(folder, what, name, text, table):
    there, here = run(folder, "same.csv", table), run(folder, name, text)
    check(f"{what} is read as the table of the same nodes",
          here.returncode == 0 and here.stdout == there.stdout and '"apple"' in here.stdout,
          here.stderr or there.stderr)


def fails(folder, what, name, text, *words):
    done = run(folder, name, text)
    for word in words:
        check(f"{what}: status 2, '{word}'", done.returncode == 2 and word in done.stderr,
              f"{done.returncode}: {done.stderr}")
    check(f"{what}: nothing is written", done.stdout == "")


def check_reading(folder):
    same(folder, "GeoJSON with other properties", "g.geojson", GEOJSON, TABLE)
    same(folder, "GeoJSON with a unit in the name of a property", "u.GeoJSON", WITH_UNIT,
         SAME.replace("lon\n", "lon,height\n").replace("20.02\n", "20.02,2\n").replace("20.01\n", "20.01,4\n"))
    same(folder, "GPX", "g.gpx", GPX, SAME)
    same(folder, "KML", "g.kml", KML, SAME)
    done = run(folder, "g.geojson", GEOJSON, "lint")
    check("a property that is not known is ignored, and named", "'colour' is ignored" in done.stderr + done.stdout,
          done.stderr + done.stdout)


def check_faults(folder):
    fails(folder, "a name twice", "t.geojson", geojson(feature("plum", 20, 10), feature("plum", 21, 10)),
          "t.geojson: feature 2: the name 'plum' is taken")
    fails(folder, "no name", "n.geojson", geojson(feature("plum", 20, 10), feature(None, 21, 10)),
          "n.geojson: feature 2: 'name' is missing")
    fails(folder, "an empty name", "n.geojson", geojson(feature("", 20, 10)), "feature 1: 'name' is missing")
    fails(folder, "a name that is none", "b.kml", KML.replace("apple", "old barn"),
          "b.kml: feature 2: 'old barn' is not a valid name")
    fails(folder, "a line", "l.geojson", geojson(feature("plum", 20, 10), feature("way", 20, 10, "LineString")),
          "l.geojson: feature 2: this is not a point but a Line String")
    fails(folder, "a track", "t.gpx", TRACK, "t.gpx: feature 3: this is not a point but a Multi Line String")
    fails(folder, "no place", "p.geojson", geojson({"type": "Feature", "properties": {"name": "a"}, "geometry": None}),
          "p.geojson: feature 1: this feature has no place")
    fails(folder, "a place off the earth", "o.geojson", geojson(feature("plum", 20, 91)),
          "o.geojson: feature 1: '91.000000000' is out of range")
    fails(folder, "a misspelt property", "m.geojson", geojson(feature("plum", 20, 10, hight=3)),
          "m.geojson: unknown key 'hight'", "did you mean 'height'?")
    fails(folder, "a number that is none", "h.geojson", geojson(feature("plum", 20, 10, height="tall")),
          "h.geojson: feature 1: 'tall'")
    fails(folder, "another system", "s.geojson",
          geojson(feature("plum", 500000, 10), crs={"type": "name", "properties": {"name": "EPSG:32633"}}),
          "plan.yaml:8:27: ", "must be longitudes and latitudes on WGS 84")
    for name, text in (("x.gpx", GPX[:-60]), ("x.kml", KML[:-90]), ("x.geojson", GEOJSON[:-30]), ("e.kml", ""),
                       ("s.geojson", "root:x:0:0:secret"), ("y.gpx", KML)):
        fails(folder, f"{name}, of which a part is missing", name, text, "plan.yaml:8:27: ", f"{name}' cannot be read as")
        check("nothing of it is shown", "secret" not in run(folder, name, text).stderr)
    done = run(folder, "e.geojson", geojson(), "lint")
    check("no points at all are a warning", "this table has no rows" in done.stderr + done.stdout,
          done.stderr + done.stdout)
    many = geojson(*(feature(f"n{i}", 20, 10, **{f"p{i}": 1}) for i in range(99)))
    fails(folder, "too many properties", "p.geojson", many, "too many features or properties")


def check_missing(folder):
    done = run(folder, "g.csv", SAME)
    check("a table is read", done.returncode == 0, done.stderr)
    os.remove(os.path.join(folder, "g.csv"))
    with open(os.path.join(folder, "plan.yaml"), "w", encoding="utf-8") as file:
        file.write(PLAN.replace("TABLE", "not-there.kml"))
    done = subprocess.run([SPATE, "links", os.path.join(folder, "plan.yaml")], capture_output=True, text=True,
                          check=False)
    check("a map that is not there is a fault of the scenario", done.returncode == 2 and
          "plan.yaml:8:27: " in done.stderr and "No such file" in done.stderr, done.stderr)


ACROSS = """
spate: 1
run: {duration: 10 min}
bearers:
  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 9, propagation: {model: free-space}}
nodes:
  east: {at: {lat: 10.2 deg, lon: -179.99 deg, height: 9 m}, radios: {air: {power: 14 dBm}}}
  west: {at: {lat: 10.0 deg, lon: 179.97 deg}, radios: {air: {power: 10 dBm}}}
  middle: {at: {lat: 10.0 deg, lon: 179.99 deg}, radios: {air: {power: 10 dBm, noise-rise: 6 dB}}}
traffic:
  talk: {from: west, to: east, payload: 20 bytes, every: 1 min}
"""


def links(*arguments, text=ACROSS):
    return subprocess.run([SPATE, "links", "-", *arguments], capture_output=True, text=True, input=text, check=False)


def check_links(folder):
    document = json.loads(links("--format", "geojson").stdout)
    rows = {(row["from"], row["to"]): row for row in json.loads(links("--format", "json").stdout)["links"]}
    points = [each for each in document["features"] if each["geometry"]["type"] == "Point"]
    lines = [each for each in document["features"] if each["geometry"]["type"] != "Point"]
    check("it is a collection of features (RFC 7946, 3.3)", document["type"] == "FeatureCollection" and
          all(set(each) == {"type", "geometry", "properties"} and each["type"] == "Feature"
              for each in document["features"]) and len(points) == 3 and len(lines) == 3, document)
    check("nodes are points, longitude first (3.1.1)",
          {each["properties"]["name"]: each["geometry"]["coordinates"] for each in points} ==
          {"east": [-179.99, 10.2], "west": [179.97, 10.0], "middle": [179.99, 10.0]}, points)
    for line in lines:
        said = line["properties"]
        there, back = rows[said["from"], said["to"]], rows[said["to"], said["from"]]
        check(f"the line from {said['from']} to {said['to']} says both ways", {
            **there, "loss_back_db": back["loss_db"], "received_back_dbm": back["received_dbm"],
            "margin_back_db": back["margin_db"]} == said, said)
    kinds = {frozenset((line["properties"]["from"], line["properties"]["to"])): line["geometry"] for line in lines}
    check("a line on one side of 180 degrees is whole", kinds[frozenset(("west", "middle"))] ==
          {"type": "LineString", "coordinates": [[179.99, 10.0], [179.97, 10.0]]}, kinds)
    cut = kinds[frozenset(("east", "middle"))]
    check("one across it is cut there (3.1.9)", cut == {"type": "MultiLineString", "coordinates": [
        [[-179.99, 10.2], [-180, 10.1]], [[180, 10.1], [179.99, 10.0]]]}, cut)
    weak = json.loads(links("--format", "geojson", "--node", "west", "--above", "38").stdout)["features"]
    one_way = [each["properties"] for each in weak if each["geometry"]["type"] != "Point"]
    check("a way that is not wanted is null", [
        (each["from"], each["to"], each["margin_back_db"]) for each in one_way] == [("middle", "west", None)], one_way)
    check_read_back(folder, json.dumps(document))
    plane = links("--format", "geojson", text=ACROSS.replace("lat: 10.2 deg, lon: -179.99", "x: 1").replace(" deg, height", " m, y: 2 m, height")
                  .replace("{lat: 10.0 deg, lon: 179.97 deg}", "{x: 0 m, y: 0 m}")
                  .replace("{lat: 10.0 deg, lon: 179.99 deg}", "{x: 9 m, y: 0 m}"))
    check("places in a plane are nowhere on the earth", plane.returncode == 2 and
          "give the nodes lat and lon" in plane.stderr, plane.stderr)
    check("cells of text are those of CSV", links("--format", "geojson", "--csv-text-cells").returncode == 2)


def check_read_back(folder, text):
    if shutil.which("ogrinfo") is None:
        return skip("ogrinfo reads it", "there is no ogrinfo (gdal-bin)")
    path = os.path.join(folder, "links.geojson")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    said = subprocess.run(["ogrinfo", "-al", path], capture_output=True, text=True, check=False).stdout.replace("10.0", "10")
    check("ogrinfo reads it", "Feature Count: 6" in said and "POINT (179.99 10)" in said and
          "LINESTRING (179.99 10,179.97 10)" in said and 'GEOGCRS["WGS 84"' in said, said)
    return None


# Transverse Mercator at 12 degrees west, with a false easting and a scale.
SYSTEM = """PROJCS["Tarn Hollow",GEOGCS["GCS_unknown",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],
PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],
PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-12.0],
PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",55.0],UNIT["Meter",1.0]]
"""
# gdaltransform -s_srs ground.prj -t_srs "+proj=longlat +datum=WGS84" (GDAL 3.6.2, PROJ 9.1.1)
ON_EARTH = {"east": (-11.010778828, 55.043163990), "west": (-11.061059477, 55.041311010),
            "middle": (-11.029332024, 55.059026742)}
IN_PLANE = ACROSS.replace("nodes:", "terrain: {elevation: ground.asc}\nnodes:").replace(
    "lat: 10.2 deg, lon: -179.99 deg", "x: 563210 m, y: 5250.5 m").replace(
    "{lat: 10.0 deg, lon: 179.97 deg}", "{x: 560000 m, y: 5000 m}").replace(
    "{lat: 10.0 deg, lon: 179.99 deg}", "{x: 562000 m, y: 6999 m}")


def check_plane(folder):
    plan = os.path.join(folder, "plane.yaml")
    with open(plan, "w", encoding="utf-8") as file:
        file.write(IN_PLANE)
    with open(os.path.join(folder, "ground.asc"), "w", encoding="utf-8") as file:
        file.write("ncols 8\nnrows 8\nxllcorner 558000\nyllcorner 2000\ncellsize 1000\n" + 8 * "1 2 3 4 5 4 3 2\n")
    command = [SPATE, "links", plan, "--format", "geojson"]
    nowhere = subprocess.run(command, capture_output=True, text=True, check=False)
    check("a plane whose file says not where it lies is nowhere on the earth", nowhere.returncode == 2 and
          "or a terrain whose file says" in nowhere.stderr, nowhere.stderr)
    with open(os.path.join(folder, "ground.prj"), "w", encoding="utf-8") as file:
        file.write(SYSTEM)
    document = json.loads(subprocess.run(command, capture_output=True, text=True, check=False).stdout)
    places = {each["properties"].get("name"): each["geometry"]["coordinates"] for each in document["features"]}
    for name, (lon, lat) in ON_EARTH.items():
        check(f"{name} is where the system of the terrain says", abs(places[name][0] - lon) < 1e-7 and
              abs(places[name][1] - lat) < 1e-7, places)
    lines = {tuple(map(tuple, each["geometry"]["coordinates"])) for each in document["features"]
             if each["geometry"]["type"] == "LineString"}
    check("lines join the points", len(lines) == 3 and {place for line in lines for place in line} ==
          {tuple(places[name]) for name in ON_EARTH}, lines)


def simulate(*arguments):
    return subprocess.run([SPATE, "run", "-", "--replications", "2", "--quiet", *arguments],
                          capture_output=True, text=True, check=False,
                          input=ACROSS + "variants:\n  loud: {set: {bearers.air.frequency: 868.1 MHz}}\n")


def check_run():
    done = simulate("--detail", "--format", "geojson")
    check("a run is a map", done.returncode == 0, done.stderr)
    features = json.loads(done.stdout)["features"]
    whole = json.loads(simulate("--detail", "--format", "json").stdout)["detail"]["variants"][0]
    points = [each for each in features if each["geometry"]["type"] == "Point"]
    check("nodes are where they are", [each["geometry"]["coordinates"] for each in points] ==
          [[each["lon"], each["lat"]] for each in whole["nodes"]], points)
    columns = whole["node_measures"]["columns"][0:]
    said = [[each["properties"][column] for column in columns if column != "node"] for each in points]
    check("what came to and from each is what the details say", said == [
        [value for column, value in zip(columns, row) if column != "node"]
        for row in whole["node_measures"]["rows"]], said)
    names = [whole["nodes"][row[0]]["name"] for row in whole["radios"]["rows"]]
    pairs = [(each["properties"]["from"], each["properties"]["to"], round(each["properties"]["margin_db"], 1))
             for each in features if each["geometry"]["type"] != "Point"]
    check("lines are its links", len(pairs) == 3 and pairs == [
        (names[row[0]], names[row[1]], round(row[2], 1)) for row in whole["links"]["rows"]], pairs)
    for word, *arguments in (("needs --detail",), ("--csv-text-cells needs", "--detail", "--csv-text-cells"),
                             ("one variant at a time", "--detail", "--variant", "base", "--variant", "loud")):
        done = simulate("--format", "geojson", *arguments)
        check(f"a map of a run: '{word}'", done.returncode == 2 and word in done.stderr and done.stdout == "",
              done.stderr)


with tempfile.TemporaryDirectory() as work:
    check_links(work)
    check_run()
    check_missing(work)
    if READS:
        check_plane(work)
        check_reading(work)
        check_faults(work)
    else:
        for name, text in (("g.geojson", GEOJSON), ("g.gpx", GPX), ("g.kml", KML)):
            fails(work, f"{name} without GDAL", name, text, "plan.yaml:8:27: ", "has no GDAL", "save the points as CSV")
end()
