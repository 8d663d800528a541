#!/usr/bin/env python3
"""check-fit.py SPATE SOURCE-FOLDER - spate fit, and spate links --observed

What the arithmetic is worth is tested where it is (tests/propagation/test-loss-fit.c); here, what
tables are taken, what is printed, and what is said of bad ones.
"""

import json
import math
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

from tap import check, end, equal, skip

SPATE, ROOT = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
TINY = os.path.join(ROOT, "tests/cli/tiny.yaml")
VALLEY = os.path.join(ROOT, "scenarios/tarn-hollow.yaml")
WALK = os.path.join(ROOT, "scenarios/tarn-hollow-walk.csv")
SVG = "{http://www.w3.org/2000/svg}"


def spate(*arguments, text=None):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          input=text)


def write(name, text):
    with open(name, "w", encoding="utf-8") as file:
        file.write(text)
    return name


def fit(table, *arguments):
    """Its JSON."""
    done = spate("fit", write("walk.csv", table), *arguments, "--format", "json")
    if done.returncode != 0:
        check(f"fit {arguments}", False, done.stderr)
        return None
    return json.loads(done.stdout)


def fails(name, table, words, *arguments, status=2):
    done = spate("fit", write("walk.csv", table), *arguments)
    check(name, done.returncode == status and done.stdout == "" and
          all(word in done.stderr for word in words), f"{done.returncode}: {done.stderr}")


# ---- the walk of the demo ---------------------------------------------------------------------


def holds(estimate, truth):
    return estimate["ci95"][0] <= truth <= estimate["ci95"][1]


def check_demo():
    made = subprocess.run([sys.executable, "-B", os.path.join(ROOT, "tools/write-walk")],
                          capture_output=True, text=True, check=False)
    with open(WALK, encoding="utf-8") as walk:
        equal("the walk is what its tool writes", walk.read(), made.stdout)
    done = spate("fit", WALK, "--scenario", VALLEY, "--format", "json")
    document = json.loads(done.stdout)
    found = document["fit"]
    equal("samples, and those that were heard", (found["n"], found["heard"]), (60, 52))
    equal("the bearer is that of the rows", document["bearer"], "valley")
    # What tools/write-walk says that it draws from.
    law = 112.0 + 36.0 * math.log10(found["intercept"]["at_m"] / 200.0)
    check("the truth lies within the intervals",
          holds(found["exponent"], 3.6) and holds(found["sigma_db"], 6.0) and
          found["intercept"]["ci95"][0] <= law <= found["intercept"]["ci95"][1], found)
    check("... and the intervals tell something", found["exponent"]["ci95"][1] -
          found["exponent"]["ci95"][0] < 0.9, found)
    check("it says from where to where it was heard", 49 < found["heard_m"][0] < 51 and
          1899 < found["heard_m"][1] < 1902, found)
    equal("a sample for each row", len(document["samples"]), 60)
    equal("the same again", spate("fit", WALK, "--scenario", VALLEY, "--format", "json").stdout,
          done.stdout)
    heard = [line for line in made.stdout.splitlines() if not line.endswith(",")]
    kinder = fit("\n".join(heard) + "\n", "--scenario", VALLEY)["fit"]
    check("without what was not heard the world looks kinder",
          kinder["exponent"]["value"] < found["exponent"]["value"] - 0.1 and
          kinder["n"] == 52, kinder)


def check_paste():
    table = spate("fit", WALK, "--scenario", VALLEY).stdout
    block = re.search(r"    propagation:\n(?:      .*\n)+", table)
    doubt = re.search(r"^doubt:\n(?:  bearers.*\n){3}", table, re.M)
    check("propagation and three lines of doubt are printed", block and doubt, table)
    with open(TINY, encoding="utf-8") as file:
        tiny = file.read()
    pasted = write("pasted.yaml", tiny.replace("    propagation: {model: free-space}\n",
                                               block.group()) + "\n" + doubt.group())
    done = spate("run", pasted, "--replications", "8", "--format", "json", "--quiet")
    check("a scenario takes them as they are", done.returncode == 0, done.stderr)
    check("... and lint has no fault to find", spate("lint", pasted).returncode == 0)
    with open(os.path.join(ROOT, "docs/ground.md"), encoding="utf-8") as file:
        check("the guide shows what is printed",
              table.replace(WALK, "scenarios/tarn-hollow-walk.csv") in file.read(), table)
    name = fit("distance,received-power\n50,-60\n100,-70\n200,-79\n", "--power", "14 dBm")
    equal("without a name there is none", name["bearer"], None)
    check("... and NAME stands for it", "bearers.NAME.propagation.exponent: [" in
          spate("fit", "walk.csv", "--power", "14 dBm").stdout)
    odd = fit("distance,bearer,received-power\n50,a: b,-60\n100,a: b,-70\n200,a: b,-79\n",
              "--power", "14 dBm")
    check("... and for what is no name", odd["bearer"] == "a: b" and "bearers.NAME.propagation" in
          spate("fit", "walk.csv", "--power", "14 dBm").stdout)
    wide = spate("fit", write("walk.csv", "distance,received-power\n100,-70\n200,-78\n300,-79\n"),
                 "--power", "14 dBm").stdout
    check("bounds stay within what a scenario takes", "propagation.exponent: [1.00, 8.95]" in wide
          and "propagation.shadowing: [0.8 dB, 40.0 dB]" in wide, wide)
    down = spate("fit", write("walk.csv", "distance,received-power\n100,-90\n200,-80\n300,-70\n"),
                 "--power", "14 dBm")
    check("a law that grows louder is not pasted", down.returncode == 0 and
          "nothing to paste" in down.stdout and "propagation:" not in down.stdout, down.stdout)


# ---- tables -----------------------------------------------------------------------------------

# 14 dBm, 100 dB at 200 m, exponent 3: -71.0 at 67.6 m ... exactly.
DISTANCES = (50, 100, 200, 400, 800)


def level(distance_m):
    return 14 - 100 - 30 * math.log10(distance_m / 200)


def is_law(name, document):
    found = document["fit"]
    at_m = found["intercept"]["at_m"]
    check(name, abs(found["exponent"]["value"] - 3) < 1e-4 and found["sigma_db"]["value"] < 1e-3 and
          abs(found["intercept"]["loss_db"] - 100 - 30 * math.log10(at_m / 200)) < 1e-3, found)


def rows(head, *each):
    return "\n".join([head, *(",".join(map(str, row)) for row in each)]) + "\n"


def check_forms():
    power = ("--power", "14 dBm")
    is_law("distances", fit(rows("distance,received-power",
                                 *((d, f"{level(d):.9f}") for d in DISTANCES)), *power))
    is_law("units in the head", fit(rows("distance (km),received-power (dBm)",
                                         *((d / 1000, f"{level(d):.9f}") for d in DISTANCES)),
                                    *power))
    is_law("units in the cells, by semicolons", fit(
        rows("distance;received-power", *((f"{d} m;" + f"{level(d):.9f} dBm".replace(".", ","),)
                                          for d in DISTANCES)), *power))
    is_law("x and y of both ends", fit(
        rows("sender-x,sender-y,receiver-x,receiver-y,received-power",
             *((7, 3, 7 + 0.6 * d, 3 - 0.8 * d, f"{level(d):.9f}") for d in DISTANCES)), *power))
    is_law("... with heights", fit(
        rows("sender-x,sender-y,receiver-x,receiver-y,sender-height,receiver-height,"
             "received-power",
             *((0, 0, 0.6 * d, 0, 0, 0.8 * d, f"{level(d):.9f}") for d in DISTANCES)), *power))
    # On the equator a degree of longitude is 6378137 m times pi / 180 (WGS 84).
    degree_m = 6378137 * math.pi / 180
    is_law("lat and lon of both ends", fit(
        rows("sender-lat,sender-lon,receiver-lat,receiver-lon,received-power",
             *((0, 9.5, 0, f"{9.5 + d / degree_m:.15f}", f"{level(d):.9f}") for d in DISTANCES)),
        *power))
    is_law("distances that are given win over heights that are not", fit(
        rows("distance,sender-height,receiver-height,received-power",
             *((d, 30, 2, f"{level(d):.9f}") for d in DISTANCES)), *power))
    named = rows("receiver,x,y,height,received-power",
                 *(("middle", 1000 + d, 0, 10, f"{level(d):.9f}") for d in DISTANCES))
    is_law("a name and a place", fit(named, "--scenario", TINY, *power))
    with open(TINY, encoding="utf-8") as file:
        globe = write("globe.yaml", re.sub(
            r"\{x: (\d+) m, y: 0 m", lambda x: f"{{lat: 0 deg, lon: {9.5 + int(x[1]) / 1e6:.6f} deg",
            file.read()))
    is_law("a name and a place on the ellipsoid", fit(
        rows("receiver,lat,lon,height,received-power",
             *(("west", 0, f"{9.5 + d / degree_m:.15f}", 10, f"{level(d):.9f}")
               for d in DISTANCES)), "--scenario", globe, *power))
    fails("a place in another form than the scenario",
          rows("receiver,x,y,received-power", ("west", 1, 2, -60)),
          ["one end is in x and y, the other in lat and lon"], "--scenario", globe, *power)
    unheard = rows("distance,received-power", *((d, f"{level(d):.9f}") for d in DISTANCES),
                   (3000, ""))
    document = fit(unheard, *power, "--sensitivity", "-120 dBm")
    is_law("one that was not heard, as it has to be", document)
    equal("... is counted", (document["fit"]["n"], document["fit"]["heard"]), (6, 5))
    done = spate("fit", "-", *power, "--format", "json", text=unheard.replace("3000,\n", ""))
    is_law("a table from standard input", json.loads(done.stdout))


def check_nodes():
    """Free space, by hand: power, gains and feeder losses are those of tests/cli/tiny.yaml."""
    def free(distance_m):
        return 20 * math.log10(4 * math.pi * distance_m * 869.5e6 / 299792458)
    table = rows("sender,receiver,received-power (dBm)",
                 ("west", "middle", 14 + 2.15 - 0.5 + 5 - 1 - free(1000)),
                 ("middle", "west", 10 + 2.15 - 0.5 + 5 - 1 - free(1000)),
                 ("west", "east", 14 + 2.15 - 0.5 - free(2000)))
    document = fit(table, "--scenario", TINY)
    check("nodes bring their radios", abs(document["fit"]["exponent"]["value"] - 2) < 1e-4, document)
    check("... and their bearer its frequency", document["bearer"] == "valley" and
          abs(document["free_space_db"] - free(document["fit"]["intercept"]["at_m"])) < 1e-3)
    moved = fit(table, "--scenario", TINY, "--power", "30 dBm")
    check("--power wins over them", abs(moved["samples"][0]["received_dbm"] + 71.583) < 1e-2 and
          moved["fit"]["intercept"]["loss_db"] > document["fit"]["intercept"]["loss_db"] + 8)
    quiet = fit(rows("sender,receiver,received-power (dBm)", ("west", "middle", -80),
                     ("middle", "east", -82), ("east", "west", -84), ("west", "east", "")),
                "--scenario", TINY)
    check("the sensitivity is that of the bearer",
          abs(min(s["received_dbm"] for s in quiet["samples"]) + 124.53) < 0.01, quiet)
    with open(TINY, encoding="utf-8") as file:
        noisy = write("noisy.yaml", file.read().replace("{valley: {power: 14 dBm}}",
                                                        "{valley: {power: 14 dBm, noise-rise: 7 dB}}"))
    loud = json.loads(spate("fit", "walk.csv", "--scenario", noisy, "--format", "json").stdout)
    check("... and of the noise where it was to be heard",
          abs(max(s["received_dbm"] for s in loud["samples"] if not s["heard"]) + 117.53) < 0.01,
          loud)
    two = rows("distance,bearer,received-power", *((d, "a", level(d)) for d in DISTANCES),
               *((d, "b", -60) for d in DISTANCES))
    is_law("rows of another bearer do not count", fit(two, "--power", "14 dBm", "--bearer", "a"))
    check("... and the table says so", "5 rows of other bearers are left out" in
          spate("fit", "walk.csv", "--power", "14 dBm", "--bearer", "a").stdout)


# ---- wild samples, models, the picture --------------------------------------------------------


def check_wild():
    spread = (1.5, -2.0, 0.5, 2.5, -1.0, -0.5, 1.0, -2.0)
    good = [(60 * 1.4 ** i, level(60 * 1.4 ** i) + spread[i % 8]) for i in range(12)]
    table = rows("distance,received-power", *good, (900, level(900) + 40), (70, ""))
    arguments = ("--power", "14 dBm", "--sensitivity", "-125 dBm")
    document = fit(table, *arguments)
    equal("wild samples are told by their lines",
          sorted(s["line"] for s in document["samples"] if s["wild"]), [14, 15])
    without = document["without_wild"]
    check("... and the fit without them stands beside", without["n"] == 12 and
          abs(without["exponent"]["value"] - 3) < 0.25 and
          abs(document["fit"]["exponent"]["value"] - 3) > 0.3, document["fit"])
    shown = spate("fit", "walk.csv", *arguments).stdout
    check("people read where to look", "2 wild samples" in shown and "line 14" in shown and
          "above the law" in shown and "line 15" in shown and "not heard" in shown, shown)
    swapped = fit(table, *arguments, "--without-wild")
    check("--without-wild turns it about", swapped["fit"] == without and
          swapped["with_wild"] == document["fit"] and "without_wild" not in swapped, swapped["fit"])
    check("none is wild, nothing is said", "wild" not in
          spate("fit", write("walk.csv", rows("distance,received-power", *good)),
                "--power", "14 dBm").stdout)
    shared = [(d, level(d) + own + small) for d, own in zip(DISTANCES, (9, -8, 7, -9, 8))
              for small in (0.5, -0.5, 0.0)]
    check("samples that share their shadowing are noticed", "intervals are then too narrow" in
          spate("fit", write("walk.csv", rows("distance,received-power", *shared)),
                "--power", "14 dBm").stdout)
    low = spate("fit", write("walk.csv", rows("distance,received-power", *good)), "--power",
                "14 dBm", "--sensitivity", "-90 dBm").stdout
    check("samples below the sensitivity are asked about", "heard although weaker" in low, low)


def check_models():
    arguments = ("--scenario", VALLEY, "--compare")
    document = json.loads(spate("fit", WALK, *arguments, "--format", "json").stdout)
    names = [model["model"] for model in document["models"]]
    equal("models", names, ["free-space", "free-space, extra-loss", "two-ray",
                            "two-ray, extra-loss", "street-level, urban",
                            "street-level, urban, extra-loss", "street-level, suburban",
                            "street-level, suburban, extra-loss", "terrain", "terrain, extra-loss",
                            "terrain, extra-loss, exponent",
                            "log-distance, intercept of free-space", "log-distance"])
    equal("without a height model there is no terrain",
          {model["model"][:7] for model in document["models"] if model["left_out"]}, {"terrain"})
    best = min((model for model in document["models"] if model["aic"] is not None),
               key=lambda model: model["aic"])
    check("the best is one of those that made it", best["model"].startswith("log-distance"), best)
    check("people read them", "above the best" in spate("fit", WALK, *arguments).stdout)
    flat = rows("distance,sender-height,received-power", (50, 0, -60), (70, 0, -66), (90, 0, -64))
    document = fit(flat, "--power", "14 dBm", "--frequency", "868 MHz", "--compare")
    equal("a model that does not hold is left out",
          [(m["sigma_db"], m["aic"]) for m in document["models"] if "two-ray" in m["model"]],
          [(None, None)] * 2)
    fails("models need a frequency", flat, ["frequency", "not known", "--frequency"], "--power",
          "14 dBm", "--compare")


# ---- over the ground ------------------------------------------------------------------------------

# A ridge, 60 m high, crosses a plain of 4 km by 1 km; the mast stands west of it.
RIDGE = """spate: 1
run: {duration: 10 min}
terrain: {elevation: ridge.asc}
bearers:
  valley:
    kind: lora
    frequency: 869.5 MHz
    bandwidth: 125 kHz
    spreading-factor: 12
    propagation: {model: terrain, extra-loss: 9 dB}
nodes:
  mast: {at: {x: 200 m, y: 500 m, height: 15 m}, radios: {valley: {power: 14 dBm}}, relay: valley}
  walker: {at: {x: 300 m, y: 500 m, height: 1.5 m}, radios: {valley: {power: 11 dBm}}}
"""


def write_ridge():
    with open("ridge.asc", "w", encoding="ascii") as file:
        file.write("ncols 82\nnrows 22\nxllcorner -50\nyllcorner -50\ncellsize 50\nNODATA_value -9999\n")
        row = " ".join(f"{100 + max(0, 60 - abs(50 * column - 1500) * 0.4):.1f}" for column in range(82))
        file.write((row + "\n") * 22)
    return write("ridge.yaml", RIDGE)


def levels_over(scenario):
    """Places over the plain and what the mast gets of the walker there, as coverage predicts it."""
    done = spate("coverage", scenario, "--radio", "walker", "--height", "1.5 m", "--cell", "160 m",
                 "--area", "300,100,3900,900", "--format", "json")
    return [(cell["x"], cell["y"], cell["best_dbm"]) for cell in json.loads(done.stdout)["cells"]]


def way_m(x, y):
    """To the antenna of the mast; places lie on the slopes, where heights between cells are on a line."""
    ground = 100 + max(0, 60 - abs(x - 1500) * 0.4)
    return math.sqrt((x - 200) ** 2 + (y - 500) ** 2 + (115 - ground - 1.5) ** 2)


NOISE = (3.1, -2.4, 0.7, -4.9, 5.2, -0.3, 1.8, -3.6, 2.2, -1.9, 4.4, -4.3)


def walk_over(places, bend_db=0.0, noise=0.0):
    """bend_db: beyond free space, for each decade of distance from 300 m on."""
    table = [f"{x},{y},1.5,mast,"
             f"{level_dbm - bend_db * math.log10(way_m(x, y) / 300) + noise * NOISE[i % 12]:.9f}"
             for i, (x, y, level_dbm) in enumerate(places)]
    return "x,y,height,receiver,received-power\n" + "\n".join(table) + "\n"


def check_ground():
    scenario = write_ridge()
    if spate("check", scenario).returncode != 0:
        skip("fits over a ridge", "this build has no GDAL")
        return
    places = levels_over(scenario)
    arguments = ("--scenario", scenario, "--power", "11 dBm")
    document = fit(walk_over(places), *arguments)
    found, terrain = document["fit"], document["terrain"]
    check("what made the walk comes out: exponent and extra-loss", document["ground"] == "known" and
          abs(found["exponent"]["value"] - 2) < 1e-4 and found["sigma_db"]["value"] < 1e-3 and
          abs(terrain["extra_loss_db"]["value"] - 9) < 1e-4 and
          abs(found["intercept"]["loss_db"] - document["free_space_db"] - 9) < 1e-3, document["fit"])
    check("... and what the ground takes of each sample", terrain["diffraction_db"][0] < 3 and
          terrain["diffraction_db"][1] > 25 and
          all(sample["diffraction_db"] is not None for sample in document["samples"]), terrain)
    check("... of which none is left over", all(abs(sample["above_db"]) < 1e-3 for sample in document["samples"]))
    bent = fit(walk_over(places, 8, 1.0), *arguments)["fit"]
    check("an exponent of its own comes out beside the ridge", holds(bent["exponent"], 2.8) and
          holds(bent["sigma_db"], math.sqrt(sum(n * n for n in NOISE) / 12)) and
          bent["exponent"]["ci95"][1] - bent["exponent"]["ci95"][0] < 0.9, bent)
    blind = fit(walk_over(places, 8, 1.0), *arguments, "--without-diffraction")
    check("a fit that does not know the ridge is wrong, and looks sure", blind["ground"] == "left-in-the-law"
          and "terrain" not in blind and blind["fit"]["exponent"]["ci95"][0] > 3.2 and
          blind["fit"]["sigma_db"]["value"] > bent["sigma_db"]["value"] + 2, blind["fit"])
    alone = ("--power", "11 dBm", "--frequency", "869.5 MHz", "--elevation", "ridge.asc")
    own = walk_over(places).replace("mast", "200,500,15").replace(
        "receiver", "receiver-x,receiver-y,receiver-height").replace(
        "x,y,height,", "sender-x,sender-y,sender-height,", 1)
    equal("a height model does without a scenario", fit(own, *alone)["terrain"], terrain)
    check_ground_words(places, arguments, alone)


def check_ground_words(places, arguments, alone):
    bent = walk_over(places, 8, 1.0)
    shown = spate("fit", write("walk.csv", bent), *arguments, "--compare").stdout
    block = re.search(r"    propagation:\n      model: terrain\n      extra-loss: .*\n      shadowing: .*\n",
                      shown)
    doubt = re.search(r"^doubt:\n  bearers.valley.propagation.extra-loss: \[.*\]\n"
                      r"  bearers.valley.propagation.shadowing: \[.*\]\n", shown, re.M)
    check("people read what the ground takes, and where the model differs", "the ground takes" in shown
          and "as model: terrain" in shown and "exponent of free space, 2; the samples say" in shown and
          block and doubt, shown)
    pasted = write("pasted.yaml", RIDGE.replace(
        "    propagation: {model: terrain, extra-loss: 9 dB}\n", block.group()) + doubt.group())
    done = spate("lint", pasted)
    check("a scenario takes it", done.returncode == 0, done.stderr)
    check("beyond 3 km streets are not compared", "street-level is not compared: it is made for 300" in shown
          and "street-level, urban " not in shown, shown)
    models = {model["model"]: model for model in fit(bent, *arguments, "--compare")["models"]}
    best = min((model for model in models.values() if model["aic"] is not None),
               key=lambda model: model["aic"])
    check("terrain with an exponent wins, and knows how many figures it took",
          best["model"] == "terrain, extra-loss, exponent" and best["parameters"] == 3 and
          models["terrain"]["parameters"] == 1 and models["terrain"]["left_out"] is None and
          models["log-distance"]["aic"] > best["aic"] + 50, models)
    near = "x,y,height,receiver,received-power\n300,500,1.5,mast,-60\n500,500,1.5,mast,-66\n900,500,1.5,mast,-75\n"
    models = {model["model"]: model for model in fit(near, *arguments, "--compare")["models"]}
    # Rec. ITU-R P.1411-12, 4.3.1, by hand: beyond 64.2 m, 6.8 dB between town and suburb.
    check("streets have their rows", models["street-level, urban"]["left_out"] is None and
          models["street-level, urban, extra-loss"]["aic"] ==
          models["street-level, suburban, extra-loss"]["aic"] and
          models["street-level, urban"]["aic"] != models["street-level, suburban"]["aic"], models)
    apart = fit("distance,received-power\n300,-60\n500,-66\n900,-75\n", *arguments)
    equal("distances have no ground", (apart["ground"], apart["samples"][0]["diffraction_db"]),
          ("no-places", None))
    shown = spate("fit", "walk.csv", *arguments, "--compare").stdout
    check("... and people are told so", "cannot be used, as the table has distances" in shown and
          "terrain is not compared: it needs a height model, and places" in shown and
          "model: log-distance" in shown, shown)
    head = "sender-x,sender-y,receiver-x,receiver-y,received-power\n"
    fails("... a height model given for nothing", "distance,received-power\n300,-60\n",
          ["walk.csv:1:1: the table has distances", "--elevation"], *alone)
    fails("a place that is not on it", head + "300,500,9000,500,-90\n",
          ["walk.csv:2:1: the place lies outside the height model at x 9000 m", "leave out the row"], *alone)
    fails("places in another form", "sender-lat,sender-lon,receiver-lat,receiver-lon,received-power\n"
          "50,9,50.01,9,-90\n", ["walk.csv:1:1: the height model does not say where on earth"], *alone)
    fails("a height model without a frequency", head + "300,500,600,500,-90\n",
          ["depends on the frequency, which is not known", "--frequency"], "--power", "11 dBm",
          "--elevation", "ridge.asc")
    for path, word in (("no.asc", "No such file"), (".", "it is not a plain file"),
                       ("walk.csv", "cannot be read")):
        fails(f"--elevation {path}", head, [f"--elevation: '{path}' cannot be read", word], *alone[:4],
              "--elevation", path, status=3)


def check_picture():
    done = spate("fit", WALK, "--scenario", VALLEY, "--plot", "residuals=left.svg")
    with open("left.svg", encoding="utf-8") as file:
        text = file.read()
    root = tree.fromstring(text)
    words = root.find(f"{SVG}desc").text
    check("the picture has a title and tells what it shows", done.returncode == 0 and
          root.find(f"{SVG}title").text and "60 samples" in words and "52 were heard" in words,
          words)
    marks = [path for path in root.iter(f"{SVG}path") if path.get("transform")]
    equal("a mark for each sample, and one each in the legend", len(marks), 60 + 2)
    check("it loads nothing", not any(word in text for word in ("href", "<script", "url(")))
    done = spate("fit", WALK, "--scenario", VALLEY, "--plot", "residual=x.svg")
    check("another picture is not there", done.returncode == 2 and
          "did you mean 'residuals'?" in done.stderr, done.stderr)
    done = spate("fit", WALK, "--scenario", VALLEY, "--plot", "residuals")
    check("... nor one without a file", done.returncode == 2 and
          "--plot residuals=FILE.svg" in done.stderr, done.stderr)


# ---- what is wrong ----------------------------------------------------------------------------


def check_faults():
    power = ("--power", "14 dBm")
    fails("an empty table", "", ["walk.csv:1:1: the table is empty"], *power)
    fails("only a head", "distance,received-power\n", ["0 of 0 samples were heard"], *power)
    fails("too few", rows("distance,received-power", (50, -60), (90, -70), (700, "")),
          ["walk.csv:1:1: 2 of 3 samples were heard", "three that were heard"], *power,
          "--sensitivity", "-125 dBm")
    fails("one distance", rows("distance,received-power", (50, -60), (50, -70), (50, -65)),
          ["all samples that were heard are of one distance", "at two distances"], *power)
    fails("all but one distance", rows("distance,received-power", (50, -60), (50.001, -70), (50.4, -65)),
          ["of one distance, within 1 %"], *power)
    fails("a place of both ends", rows("sender-x,sender-y,x,y,received-power", (0, 0, 0.05, 0, -60),
                                       (0, 0, 20, 0, -70)),
          ["walk.csv:2:1: both ends are at one place", "at least 0.1 m apart"], *power)
    fails("a node that hears itself", rows("sender,receiver,received-power", ("west", "west", -60)),
          ["walk.csv:2:1: both ends are at one place"], "--scenario", TINY)
    for name, word in (("1e300 m", "without an exponent"), ("NaN", "a finite number"), ("0", "0.1 m to 1000 km"),
                       ("50 dBm", "the unit of a length is m or km"), ("1" + 300 * "0", "at most 18 digits")):
        fails(f"a distance of {name[:9]}", rows("distance,received-power", (name, -60)),
              ["walk.csv:2:1: ", word], *power)
    fails("a pipe that nobody fills", "", ["--elevation: '/dev/null' cannot be read: it is not a plain file"],
          *power, "--frequency", "868 MHz", "--elevation", "/dev/null", status=3)
    fails("no level", rows("distance", (50,)), ["walk.csv:1:1: 'received-power' is missing"], *power)
    fails("no places", rows("received-power", (-50,)),
          ["no column says where the sender was", "no column says where the receiver was",
           "sender-x and sender-y"], *power)
    fails("half a place", rows("sender-x,receiver-x,receiver-y,received-power", (1, 2, 3, -60)),
          ["a place needs x and y, or lat and lon", "sender-x and sender-y"], *power)
    fails("two forms", rows("sender-x,sender-y,receiver-lat,receiver-lon,received-power",
                            (1, 2, 3, 4, -60)), ["the other in lat and lon"], *power)
    fails("distances and places", rows("distance,x,y,received-power", (1, 2, 3, -60)),
          ["both distances and places"], *power)
    fails("places of three", rows("x,y,sender-x,sender-y,receiver-x,receiver-y,received-power",
                                  (1, 2, 3, 4, 5, 6, -60)), ["places of both ends, and others"],
          *power)
    fails("names without a scenario", rows("sender,receiver,received-power", ("a", "b", -60)),
          ["the names of 'sender' say nothing without a scenario", "--scenario"], *power)
    fails("a column misspelt", rows("distance,recieved-power", (50, -60)),
          ["walk.csv:1:10: unknown key 'recieved-power'", "did you mean 'received-power'?"], *power)
    fails("a cell that is missing", rows("distance,received-power", (50, -60), ("", -70)),
          ["walk.csv:3:1: 'distance' is missing"], *power)
    fails("no number", rows("distance,received-power", (50, "loud")),
          ["walk.csv:2:4: 'loud' is not a level"], *power)
    fails("nothing but a number", rows("distance,received-power", ("nan", -60)),
          ["walk.csv:2:1: 'nan' is not a length"], *power)
    fails("no distance at all", rows("distance,received-power", (0, -60)),
          ["walk.csv:2:1: '0' is out of range", "0.1 m"], *power)
    fails("a distance shorter than the heights",
          rows("distance,sender-height,received-power", (5, 30, -60)),
          ["walk.csv:2:1: the distance is shorter"], *power)
    fails("a forgotten minus", rows("distance,received-power", (50, 60), (90, -70), (120, -80)),
          ["walk.csv:2:4: this level is higher than what was sent", "14 dBm"], *power)
    fails("no power", rows("distance,received-power", (50, -60), (90, -70), (120, -80)),
          ["walk.csv:2:1: the power of this sample is not known", "--power \"14 dBm\"",
           "and 2 more like it"])
    fails("no sensitivity", rows("distance,received-power", (50, -60), (90, -70), (120, "")),
          ["walk.csv:4:1: nothing was heard here", "--sensitivity"], *power)
    fails("several bearers", rows("distance,bearer,received-power", (50, "a", -60), (90, "b", -70)),
          ["walk.csv:3:1: the rows are of several bearers", "--bearer"], *power)
    fails("a node that is not there", rows("sender,receiver,received-power", ("wets", "east", -60)),
          ["walk.csv:2:1: there is no node 'wets'", "did you mean 'west'?"], "--scenario", TINY)
    fails("a bearer that is not there", rows("sender,receiver,bearer,received-power",
                                             ("west", "east", "valey", -60)),
          ["walk.csv:2:11: there is no bearer 'valey'", "did you mean 'valley'?"], "--scenario",
          TINY)
    fails("... by option", rows("sender,receiver,received-power", ("west", "east", -60)),
          ["no bearer 'vally'; did you mean 'valley'?"], "--scenario", TINY, "--bearer", "vally")
    fails("a place that is drawn", rows("sender,receiver,received-power",
                                        ("walker-1", "bridge-middle", -60)),
          ["the place of 'walker-1' is drawn at random"], "--scenario", VALLEY, "--bearer", "valley")
    fails("a sector by its distance alone",
          rows("sender,receiver,distance,received-power", ("west", "east", 500, -60)),
          ["needs the places of both nodes"], "--scenario",
          write("sector.yaml", open(TINY, encoding="utf-8").read().replace(
              "antenna: {gain: 2.15 dBi}",
              "antenna: {gain: 2.15 dBi, beamwidth: 90 deg, azimuth: 90 deg}")))
    fails("a level of another unit", "", ["--power: 'dB' is not a unit of a level"], "--power",
          "14 dB")
    fails("not a number", "", ["--sensitivity"], *power, "--sensitivity", "-1e2 dBm")
    fails("too large a table", "distance,received-power\n" + "50,-60\n" * 100001,
          ["too many rows", "at most 100000"], *power)


def check_usage():
    for arguments in [(), ("a.csv", "b.csv")]:
        done = spate("fit", *arguments)
        check(f"{len(arguments)} tables", done.returncode == 2 and "takes one table" in done.stderr)
    done = spate("fit", "not-there.csv")
    check("a file that is not there", done.returncode == 3 and
          "not-there.csv: cannot be read" in done.stderr, done.stderr)
    done = spate("fit", WALK, "--scenario", "not-there.yaml")
    check("nor its scenario", done.returncode == 3 and "cannot be read" in done.stderr)
    done = spate("fit", WALK, "--powr", "14 dBm")
    check("a typo", done.returncode == 2 and "did you mean '--power'?" in done.stderr, done.stderr)
    done = spate("fit", WALK, "--scenario", VALLEY, "--output", "no/such/folder")
    check("an output that cannot be written", done.returncode == 3 and done.stdout == "")
    for arguments in (("fit", WALK, "--scenario", VALLEY), ("links", TINY), ("coverage", TINY, "--radio", "west")):
        with open("/dev/full", "w", encoding="ascii") as full:
            done = subprocess.run([SPATE, *arguments], stdout=full, stderr=subprocess.PIPE, text=True,
                                  check=False)
        check(f"{arguments[0]}: a full disk is noticed", done.returncode == 3 and
              "No space left on device" in done.stderr, done.stderr)
    done = spate("fit", write("walk.csv", "distance,received-power\n"), "--output", "walk.csv")
    check("the walk is not overwritten", done.returncode == 2 and
          "would overwrite the walk test" in done.stderr, done.stderr)
    done = spate("fit", "-", "--scenario", "-", text="")
    check("one standard input", done.returncode == 2 and "already" in done.stderr, done.stderr)
    done = spate("fit", WALK, "--scenario", VALLEY, "--output", "out.txt", "--quiet")
    check("to a file", done.returncode == 0 and done.stdout == "" and
          "propagation:" in open("out.txt", encoding="utf-8").read())


# ---- links --observed -------------------------------------------------------------------------

OBSERVED = """sender,receiver,bearer,received-power
west,middle,valley,-75 dBm
middle,west,valley,-70
west,east,valley,
east,middle,,-66
"""


def observed(table, *arguments):
    return spate("links", TINY, "--observed", write("heard.csv", table), *arguments)


def check_observed():
    links = {(row["from"], row["to"]): row for row in
             json.loads(spate("links", TINY, "--format", "json").stdout)["links"]}
    document = json.loads(observed(OBSERVED, "--format", "json").stdout)
    differences = []
    for row in document["observed"]:
        link = links[row["from"], row["to"]]
        differences.append(row["observed_dbm"] - link["received_dbm"])
        check(f"{row['from']} to {row['to']}", row["predicted_dbm"] == link["received_dbm"] and
              row["margin_db"] == link["margin_db"] and
              abs(row["difference_db"] - differences[-1]) < 1e-9 and row["bearer"] == "valley", row)
    check("worst first", [abs(d) for d in differences] ==
          sorted((abs(d) for d in differences), reverse=True), differences)
    mean = sum(differences) / 3
    spread = math.sqrt(sum((d - mean) ** 2 for d in differences) / 2)
    check("bias and spread", abs(document["bias_db"] - mean) < 1e-9 and
          abs(document["spread_db"] - spread) < 1e-9 and document["n"] == 3, document)
    # Student's t with 2 degrees of freedom is 4.302653; chi-square has 7.377759 and 0.05063562.
    check("with their intervals",
          abs(document["bias_ci95"][1] - mean - 4.302653 * spread / math.sqrt(3)) < 1e-5 and
          abs(document["spread_ci95"][0] - spread * math.sqrt(2 / 7.377759)) < 1e-5 and
          abs(document["spread_ci95"][1] - spread * math.sqrt(2 / 0.05063562)) < 1e-4, document)
    equal("nothing heard stands apart", [(row["from"], row["to"], row["line"])
                                         for row in document["unheard"]], [("west", "east", 4)])
    table = observed(OBSERVED).stdout
    check("people read it", "bias" in table and "worst first" in table and
          "1 row, in none of the figures" in table and "expected to be heard" in table, table)
    lines = observed(OBSERVED, "--format", "csv").stdout.splitlines()
    check("CSV", lines[0].startswith("from,to,bearer,observed_dbm,predicted_dbm,difference_db") and
          len(lines) == 5 and lines[4].startswith("west,east,valley,,-81.6"), lines)
    given = observed(OBSERVED, "--set", "links=[{between: [west, middle], loss: 100 dB}]")
    check("what was given was not predicted", "2 rows are of links whose loss the scenario gives"
          in given.stdout, given.stdout + given.stderr)
    one = json.loads(observed("sender,receiver,received-power\nwest,east,-80\n", "--format",
                              "json").stdout)
    check("one row has no spread", one["spread_db"] is None and one["bias_ci95"] is None and
          one["n"] == 1, one)
    none = json.loads(observed("sender,receiver,received-power\n", "--format", "json").stdout)
    check("an empty table has nothing", none["n"] == 0 and none["bias_db"] is None and
          none["observed"] == [], none)


def check_observed_faults():
    def bad(name, table, words, *arguments):
        done = observed(table, *arguments)
        check(name, done.returncode == 2 and done.stdout == "" and
              all(word in done.stderr for word in words), f"{done.returncode}: {done.stderr}")
    head = "sender,receiver,bearer,received-power\n"
    bad("an unknown node", head + "wets,east,valley,-70\n",
        ["heard.csv:2:1: there is no node 'wets'", "did you mean 'west'?"])
    bad("an unknown bearer", head + "west,east,valey,-70\n",
        ["heard.csv:2:11: there is no bearer 'valey'", "did you mean 'valley'?"])
    bad("a link to itself", head + "west,west,valley,-70\n", ["a link joins two nodes"])
    bad("no sender", "receiver,received-power\neast,-70\n", ["'sender' is missing"])
    bad("no level", "sender,receiver\nwest,east\n", ["'received-power' is missing"])
    bad("chosen by node", head, ["--node and --above do not go with it"], "--node", "west")
    bad("no radio there", head + "west,east,yard,-70\n",
        ["heard.csv:2:1: node 'west' has no radio on 'yard'"], "--set",
        "bearers.yard={kind: dsss, frequency: 2437 MHz}")
    both = ("--set", "bearers.yard={kind: dsss, frequency: 2437 MHz}",
            "--set", "nodes.west.radios.yard={power: 10 dBm}",
            "--set", "nodes.east.radios.yard={power: 10 dBm}")
    bad("a choice of bearers", head + "west,east,,-70\n",
        ["'west' and 'east' have several bearers in common", "'bearer'"], *both)
    done = spate("links", TINY, "--observed", "not-there.csv")
    check("a table that is not there", done.returncode == 3 and "cannot be read" in done.stderr)
    done = spate("links", TINY, "--observed", write("heard.csv", head), "--output", "heard.csv")
    check("the table is not overwritten", done.returncode == 2 and
          "would overwrite the table" in done.stderr, done.stderr)


with tempfile.TemporaryDirectory() as work:
    os.chdir(work)
    check_demo()
    check_paste()
    check_forms()
    check_nodes()
    check_wild()
    check_models()
    check_ground()
    check_picture()
    check_faults()
    check_usage()
    check_observed()
    check_observed_faults()
    os.chdir("/")
end()
