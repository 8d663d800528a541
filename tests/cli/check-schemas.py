#!/usr/bin/env python3
"""check-schemas.py SPATE SOURCE-FOLDER - what commands write as JSON is what docs/*.schema.json say

That of results of run and compare is held by check-report.py.
"""

import json
import os
import re
import subprocess
import sys
import tempfile

import schemas
from tap import check, end, skip

SPATE, ROOT = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
FOLDER = os.path.join(ROOT, "tests/cli")
TINY, TOWN, SITES = (os.path.join(FOLDER, name) for name in ("tiny.yaml", "town.yaml", "sites.yaml"))
VALLEY = os.path.join(ROOT, "scenarios/tarn-hollow.yaml")
GROUND = os.path.join(ROOT, "scenarios/tarn-hollow-ground.yaml")
WALK = os.path.join(ROOT, "scenarios/tarn-hollow-walk.csv")


def run(*arguments):
    done = subprocess.run([SPATE, *arguments, "--format", "json"], capture_output=True, text=True,
                          check=False)
    try:
        return json.loads(done.stdout)
    except json.JSONDecodeError:
        check(f"{arguments}", False, done.stderr)
        return {}


def write(name, text):
    with open(name, "w", encoding="utf-8") as file:
        file.write(text)
    return name


def schema_of(name):
    return schemas.validator(os.path.join(ROOT, f"docs/{name}.schema.json"))


def has_gdal():
    done = subprocess.run([SPATE, "lint", GROUND], capture_output=True, text=True, check=False)
    return "built without GDAL" not in done.stdout + done.stderr


def check_fit():
    schema = schema_of("fit")
    valley = run("fit", WALK, "--scenario", VALLEY, "--compare")
    schemas.check_fits(schema, "fit --compare", valley)
    schemas.check_is_closed(schema, "fit", valley, ("models",))
    power = ("--power", "14 dBm")
    apart = write("apart.csv", "distance,received-power\n50,-60\n100,-70\n150,-73\n200,-79\n400,-88\n"
                  "600,-93\n800,-97\n900,-99\n300,-40\n")
    for arguments in ((), ("--without-wild",), ("--frequency", "868 MHz", "--compare")):
        schemas.check_fits(schema, f"fit {arguments}", run("fit", apart, *power, *arguments))
    exact = write("exact.csv", "distance,received-power\n10,-60\n100,-80\n1000,-100\n")
    schemas.check_fits(schema, "fit of what has no spread", run("fit", exact, *power, "--frequency",
                                                                "868 MHz", "--compare"))
    if not has_gdal():
        skip("schema: fit over the ground", "this build has no GDAL")
        return
    hamlet = write("hamlet.csv", "sender-x,sender-y,receiver-x,receiver-y,received-power\n" + "".join(
        f"-300,0,{-300 + 300 * i},{40 * i},{-70 - 9 * i}\n" for i in range(1, 6)))
    for arguments in ((), ("--without-diffraction", "--compare")):
        over = run("fit", hamlet, "--scenario", GROUND, *power, *arguments)
        schemas.check_fits(schema, f"fit over the ground {arguments}", over)
    over = run("fit", hamlet, "--scenario", GROUND, *power)
    schemas.check_is_closed(schema, "fit over the ground", over)
    over["ground"] = "flat"
    check("schema: fit: flat ground has no terrain", not schema.is_valid(over))


def check_observed():
    schema = schema_of("observed")
    heard = write("heard.csv", "sender,receiver,received-power\nwest,middle,-75\nmiddle,west,-70\nwest,east,\n")
    both = run("links", TINY, "--observed", heard)
    schemas.check_fits(schema, "links --observed", both)
    schemas.check_is_closed(schema, "links --observed", both)
    none = write("none.csv", "sender,receiver,received-power\n")
    schemas.check_fits(schema, "links --observed of nothing", run("links", TINY, "--observed", none))


def check_coverage():
    schema = schema_of("coverage")
    with open(TINY, encoding="utf-8") as file:
        tiny = file.read()
    globe = write("globe.yaml", re.sub(r"\{x: (\d+) m, y: 0 m", lambda x: "{lat: 50 deg, lon: "
                                       f"{9.5 + int(x[1]) / 1e5:.6f} deg", tiny))
    for name, arguments in {"coverage in a plane": (TINY, "--radio", "west", "--cell", "400 m"),
                            "coverage on the globe": (globe, "--radio", "west", "--cell", "400 m")}.items():
        document = run("coverage", *arguments, "--margin", "800 m")
        schemas.check_fits(schema, name, document)
        schemas.check_is_closed(schema, name, document)
        check(f"schema: {name}: it has cells", len(document["cells"]) > 5)
    nobody = run("coverage", TINY, "--radio", "west", "--cell", "1 km", "--set", "nodes.middle.relay=none")
    schemas.check_fits(schema, "coverage by nobody", nobody)


def check_advice():
    schema = schema_of("advice")
    with open(TOWN, encoding="utf-8") as file:
        doubtful = write("doubtful.yaml", file.read() +
                         "doubt: {nodes.mast.radios.air.noise-rise: [0 dB, 6 dB]}\n")
    two = ("--replications", "2")
    outages = ("--set", "outages=[{node: mast, at: 1 min, for: 5 min}, {node: gate, at: 1 min, for: 1 s}]")
    ambient = ("--set", "ambient=[{bearer: air, everywhere: yes, power: -90 dBm, busy: 30 %, burst: 100 ms}]")
    for name, arguments in {
            "bridges": (TOWN, *two),
            "bridges where nothing is expected": (TOWN, *two, "--set", "expect=[]"),
            "bridges where nothing crosses": (TOWN, *two, "--set", "bridges={}", "--set", "expect=[]"),
            "bridges in doubt": (doubtful, "--replications", "4"),
            "disturbers of a radio that sleeps": (TOWN, *two, "--disturbers", "--set",
                                                  "nodes.mast.radios.air.listens={every: 2 s, for: 1 s}"),
            "relays": (TOWN, *two, "--relays", *outages),
            "disturbers": (TOWN, *two, "--disturbers", *ambient),
            "sites": (SITES, "--sites"),
            "sites without candidates": (TOWN, "--sites", *two)}.items():
        document = run("advise", *arguments)
        schemas.check_fits(schema, f"advise: {name}", document)
        rare = {"bridges in doubt": '"doubt"', "disturbers of a radio that sleeps": '"asleep"'}.get(name, "")
        check(f"schema: advise: {name}: it has {rare}", rare in json.dumps(document))
        if " " not in name:
            schemas.check_is_closed(schema, f"advise: {name}", document, ("interrupted", "one_layout",
                                                                        "random_places", "doubt", "asleep"))
    document = run("advise", SITES, "--sites")
    check("schema: advice is one of its kinds", not schema.is_valid({**document, "advice": "weather"}))


with tempfile.TemporaryDirectory() as work:
    os.chdir(work)
    if schemas.jsonschema is None:
        skip("schemas", "python3-jsonschema is not installed")
    else:
        check_fit()
        check_observed()
        check_coverage()
        check_advice()
    os.chdir("/")
end()
