#!/usr/bin/env python3
"""check-maps.py SPATE yes|no - nodes from maps: GeoJSON, GPX and KML; yes: this build reads them"""

import json
import os
import subprocess
import sys
import tempfile

from tap import check, end

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


with tempfile.TemporaryDirectory() as work:
    check_missing(work)
    if READS:
        check_reading(work)
        check_faults(work)
    else:
        for name, text in (("g.geojson", GEOJSON), ("g.gpx", GPX), ("g.kml", KML)):
            fails(work, f"{name} without GDAL", name, text, "plan.yaml:8:27: ", "has no GDAL", "save the points as CSV")
end()
