#!/usr/bin/env python3
"""check-report.py SPATE SCENARIOS SCHEMA - details of results, the page, and what it hides

Results are checked against docs/result.schema.json by Debian's python3-jsonschema (skipped without
it); what an attacker would look for in a page that hides places or names is looked for here.
"""

import base64
import hashlib
import html.parser
import json
import math
import os
import re
import subprocess
import sys
import tempfile

import schemas
from tap import check, end

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
DEMO = os.path.join(FOLDER, "tarn-hollow.yaml")
# Pages with different steps; where all is slow a few do.
BLURS = int(os.environ.get("SPATE_BLURS", "100"))

# A plan whose names are what pages are attacked with.
NASTY = """
spate: 1
title: "</script><script>alert(1)</script>"
run: {duration: 10 min, replications: 3}
bearers:
  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,
    propagation: {model: log-distance, exponent: 3}}
nodes:
  home-of-ada: {at: {x: 1234.5 m, y: -987.6 m, height: 7 m}, radios: {air: {power: 14 dBm}}, relay: [air]}
  home-of-bob: {at: {x: 1734.5 m, y: -687.6 m, height: 9 m}, radios: {air: {power: 14 dBm}}, relay: [air],
    moves: {along: [{x: 2134.5 m, y: -287.6 m}, {x: 1734.5 m, y: -687.6 m}], speed: 2 m/s}}
  shed: {count: 4, place: {circle: {centre: {x: 1500 m, y: -800 m}, radius: 90 m}, height: 2 m},
    radios: {air: {power: 10 dBm, supply: {sending: 100 mW, receiving: 30 mW}}}}
traffic:
  talk: {from: [home-of-ada, home-of-bob], to: [home-of-ada, home-of-bob], payload: 20 bytes, every: 1 min}
  shed-news: {from: shed, to: home-of-ada, payload: 20 bytes, every: 2 min,
    acknowledge: {within: 20 ms, tries: 2}}
variants:
  without-shed: {summary: "the shed is still <b>", set: {nodes.shed.radios.air.power: -30 dBm}}
doubt: {nodes.shed.site-loss: [0 dB, 6 dB], nodes.home-of-bob.at.x: [1731 m, 1739 m],
  nodes.home-of-bob.moves.along.0.x: [2131 m, 2139 m]}
"""


def spate(*arguments, text=None):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          input=text if text is not None else "")


def fails(name, status, words, *arguments, text=None):
    done = spate(*arguments, text=text)
    check(f"{name}: status {status}, and said",
          done.returncode == status and words in done.stderr and "alert" not in done.stdout,
          f"{done.returncode}: {done.stderr}")


class Page(html.parser.HTMLParser):
    """What a browser would make of the page: scripts, styles, what loads something."""

    def __init__(self, text):
        super().__init__()
        self.scripts, self.styles, self.loads, self.policy, self.inside = [], [], [], "", None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        found = dict(attributes)
        if tag in ("script", "style"):
            self.inside = (tag, found)
            (self.scripts if tag == "script" else self.styles).append([found, ""])
        if tag == "meta" and found.get("http-equiv") == "Content-Security-Policy":
            self.policy = found["content"]
        self.loads += [found[key] for key in ("src", "srcset", "data", "action") if key in found]
        self.loads += [value for key, value in attributes if key.startswith("on") or key == "style"]
        if tag in ("link", "iframe", "object", "embed", "img", "base"):
            self.loads.append(tag)

    def handle_data(self, data):
        if self.inside is not None:
            (self.scripts if self.inside[0] == "script" else self.styles)[-1][1] += data

    def handle_endtag(self, tag):
        if tag in ("script", "style"):
            self.inside = None

    def result(self):
        return next(json.loads(text) for found, text in self.scripts if found.get("id") == "result")


def result_of(text):
    """The same without looking at the rest of the page."""
    return json.loads(re.search(r'<script type="application/json" id="result">(.*?)</script>', text,
                                re.DOTALL).group(1))


def drawn_in(text):
    """Where the page draws the nodes of its first variant, in metres."""
    added = json.loads(re.search(r'<script type="application/json" id="additions">(.*?)</script>', text,
                                 re.DOTALL).group(1))
    return [way[0] for way in added["places"][0]]


def digest(text):
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def check_schema(results):
    schema = schemas.validator(sys.argv[3])
    if schema is None:
        print("# python3-jsonschema is not installed: the schema is not checked")
        return
    for name, result in results.items():
        schemas.check_fits(schema, name, result)
    whole = results["compare with details"]
    for name, spoil in {
            "a share above 1": lambda r: next(
                row for row in r["variants"][0]["measures"] if row["unit"] == "ratio").update(mean=1.5),
            "no seed": lambda r: r.pop("seed"),
            "another format": lambda r: r.update(format="spate-result/2"),
            "a radio that is a text": lambda r: r["detail"]["variants"][0]["links"]["rows"][0]
            .__setitem__(0, "x"),
            "a frame of a radio that is a text": lambda r: next(
                replay for replay in r["detail"]["variants"][0]["replay"] if replay)
            ["frames"]["rows"].append(["x"])}.items():
        broken = json.loads(json.dumps(whole))
        spoil(broken)
        check(f"schema: not {name}", not schema.is_valid(broken))


def check_page(text, result):
    page = Page(text)
    check("the page loads nothing", page.loads == [], page.loads)
    check("its policy forbids all but what is in it",
          page.policy.startswith("default-src 'none'") and "unsafe" not in page.policy, page.policy)
    run = [body for found, body in page.scripts if found.get("type") != "application/json"]
    check("scripts and styles are allowed by their hashes",
          all(f"'sha256-{digest(body)}'" in page.policy
              for body in run + [body for _, body in page.styles]) and len(run) == 2, page.policy)
    check("the result is in it as it was", page.result() == result)
    check("the licence of the drawing library goes with it",
          "Redistribution and use in source and binary forms" in text)
    return page


def check_broken(folder, text, result):
    path = os.path.join(folder, "broken.json")

    def broken(name, words, change):
        other = json.loads(text)
        change(other)
        with open(path, "w", encoding="utf-8") as file:
            json.dump(other, file)
        fails(name, 2, words, "report", path)

    first = lambda r: r["detail"]["variants"][0]
    broken("another detail", "this program reads 'spate-detail/1'",
           lambda r: r["detail"].update(format="spate-detail/9"))
    broken("a radio that there is not", "its details, variant 0, link 0: 'to_radio' is an index out of range",
           lambda r: first(r)["links"]["rows"][0].__setitem__(1, 99))
    broken("a node that there is not", "variant 0, radio 0: 'node' is out of range",
           lambda r: first(r)["radios"]["rows"][0].__setitem__(0, -1))
    broken("columns in another order", "variant 0: 'disturbers' does not have the expected columns",
           lambda r: first(r)["disturbers"]["columns"].reverse())
    broken("a missing variant", "do not match its variants", lambda r: r["detail"]["variants"].pop())
    broken("a replay too few", "variant 0: there are ", lambda r: first(r)["replay"].pop())
    broken("a name that is none", "variant 0, node 0: 'name' must be a string",
           lambda r: first(r)["nodes"][0].update(name=7))
    broken("messages that are none", "its details: 'messages' must be a list", lambda r: r["detail"].update(messages={}))
    broken("doubts that are none", "doubt 0: 'path' must be a string",
           lambda r: r.update(doubts=[{"path": 1}]))
    broken("an old result", "this program reads 'spate-result/1'",
           lambda r: r.update(format="spate-result/0"))
    fails("no JSON", 2, "this is not JSON", "report", DEMO)
    fails("nothing", 2, "ends too early", "report", "-", text="")
    fails("a file that is not there", 3, "cannot be read", "report", os.path.join(folder, "no"))
    fails("a folder", 3, "cannot be read", "report", folder)
    fails("no argument", 2, "takes one result", "report")
    for blur, words in (("200", "no unit"), ("-1 m", "out of range"), ("0 m", "out of range"),
                        ("1e9 m", "exponent"), ("900 km", "out of range")):
        fails(f"--blur {blur}", 2, words, "report", path, "--blur", blur)
    fails("--blur-seed", 2, "not a whole number", "report", path, "--anonymous",
          "--blur-seed", "x")
    fails("a seed for nothing", 2, "needs --blur or --anonymous", "report", path,
          "--blur-seed", "3")
    good = os.path.join(folder, "good.json")
    with open(good, "w", encoding="utf-8") as file:
        file.write(text)
    fails("over the result itself", 2, "", "report", good, "--output", good)
    fails("a full disk", 3, "cannot write", "report", good, "--output", "/dev/full")
    plain = os.path.join(folder, "plain.json")
    with open(plain, "w", encoding="utf-8") as file:
        json.dump({key: value for key, value in result.items() if key != "detail"}, file)
    done = spate("report", plain)
    check("measures alone make a page, and what is missing is said",
          done.returncode == 0 and "--detail" in done.stderr and Page(done.stdout).result(),
          done.stderr)
    return good


def steps(before, after):
    places = {node["name"]: node for node in before["detail"]["variants"][0]["nodes"]}
    return [math.hypot(node["x_m"] - places[node["name"]]["x_m"],
                       node["y_m"] - places[node["name"]]["y_m"])
            for node in after["detail"]["variants"][0]["nodes"]]


def check_blur(folder, good, result):
    def blurred(*arguments):
        return spate("report", good, "--blur", "200 m", *arguments).stdout

    first = blurred("--blur-seed", "5")
    page = result_of(first)
    check("one seed, one page", first == blurred("--blur-seed", "5"))
    check("another seed, another", first != blurred("--blur-seed", "6"))
    check("no seed, another each time", blurred() != blurred())
    check("the seed is not told", "blur-seed" not in first and "blur_seed" not in first)
    check("the page knows by how much", page["detail"]["places"]["blurred_m"] == 200)
    for word in ("1234.5", "-987.6", "987.6", "1734.5", "687.6", "2134.5", "287.6", "home-of-ada: {at"):
        check(f"'{word}' is nowhere in it", word not in first)
    check("what was drawn of places is gone, the rest is not",
          [doubt["path"] for doubt in page["doubts"]] == ["nodes.shed.site-loss"], page["doubts"])
    check("the scenario's text and settings are gone",
          page["detail"]["text"] is None and page["detail"]["settings"] == [])
    margins = {value for row in page["detail"]["variants"][0]["links"]["rows"]
               for value in row[2:] if value is not None}
    check("margins are told coarsely", margins <= {-20, -10, 0, 10, 20}, margins)
    heights = {node["height_m"] for node in page["detail"]["variants"][0]["nodes"]}
    check("heights too", all(height % 10 == 0 for height in heights), heights)
    both = page["detail"]["variants"]
    check("a node moves alike in all variants", [(n["x_m"], n["y_m"]) for n in both[0]["nodes"]] ==
          [(n["x_m"], n["y_m"]) for n in both[1]["nodes"]])
    mover = next(node for node in both[0]["nodes"] if "moves" in node)
    own, way = (mover["x_m"], mover["y_m"]), mover["moves"]
    there, home = map(tuple, way["along"])
    # x is in doubt by 4 m
    check("where a way comes home, home is moved alike", math.dist(home, own) < 5, (home, own))
    check("its other point is moved by a step of its own, no longer than said",
          0 < math.dist(there, (2134.5, -287.6)) <= 206 and
          math.dist((there[0] - 400, there[1] - 400), own) > 10, there)
    check("legs are as long as they are drawn", way["legs_m"] ==
          [round(math.dist(own, there)), round(math.dist(there, home))], way["legs_m"])
    moved = []
    for seed in range(BLURS):
        moved += steps(result, result_of(blurred("--blur-seed", str(seed))))
    mean = sum(moved) / len(moved)
    # an even distribution over a disc: two thirds of its radius, spread 0.236 of it
    check("no step is longer than said", max(moved) <= 201, max(moved))
    check("steps are even over the disc", abs(mean - 200 * 2 / 3) < 4 * 0.236 * 200 / len(moved) ** 0.5,
          mean)


DEGREES = """
spate: 1
title: far north
run: {duration: 10 min}
bearers:
  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 12, propagation: {model: free-space}}
nodes:
  home-of-ada: {at: {lat: 80.123456 deg, lon: 179.876543 deg}, radios: {air: {power: 14 dBm}}, relay: [air]}
  home-of-bob: {at: {lat: 80.234567 deg, lon: -179.765432 deg}, radios: {air: {power: 14 dBm}}}
  shed: {at: {lat: 79.987654 deg, lon: 179.654321 deg}, radios: {air: {power: 14 dBm}},
    moves: {along: [{lat: 80.098765 deg, lon: -179.543217 deg}], speed: 2 m/s}}
traffic:
  talk: {from: home-of-ada, to: everyone, payload: 20 bytes, every: 1 min}
"""


def way_m(a, b):
    """Between places that are near each other: the chord through the ellipsoid WGS 84."""
    def in_space(lat, lon):
        lat, lon, e2 = math.radians(lat), math.radians(lon), 0.00669437999014
        n = 6378137 / math.sqrt(1 - e2 * math.sin(lat) ** 2)
        return (n * math.cos(lat) * math.cos(lon), n * math.cos(lat) * math.sin(lon), n * (1 - e2) * math.sin(lat))
    return math.dist(in_space(a["lat"], a["lon"]), in_space(b["lat"], b["lon"]))


def check_drawn(what, drawn, nodes):
    for a, b in ((0, 1), (0, 2), (1, 2)):
        on_paper_m = math.dist(drawn[a], drawn[b])
        check(f"{what} is drawn right to a thousandth between nodes {a} and {b}",
              abs(on_paper_m / way_m(nodes[a], nodes[b]) - 1) < 1e-3, f"{on_paper_m} m")


def check_degrees(folder):
    path = os.path.join(folder, "degrees.json")
    spate("run", "-", "--format", "json", "--detail", "--output", path, text=DEGREES)
    with open(path, encoding="utf-8") as file:
        result = json.load(file)
    nodes = result["detail"]["variants"][0]["nodes"]
    check("a result has the degrees of the file",
          [(node["lat"], node["lon"]) for node in nodes] ==
          [(80.123456, 179.876543), (80.234567, -179.765432), (79.987654, 179.654321)] and
          not any("x_m" in node for node in nodes), nodes)
    page = spate("report", path).stdout
    drawn = drawn_in(page)
    check_drawn("the map", drawn, nodes)
    way = nodes[2]["moves"]
    check("a way has its points in longitude and latitude, and its length", way["along"] == [[-179.543217, 80.098765]] and
          abs(way["legs_m"][0] / way_m(nodes[2], {"lat": 80.098765, "lon": -179.543217}) - 1) < 1e-4, way)
    check("north is up, and east to the right", drawn[1][1] > drawn[0][1] > drawn[2][1] and
          drawn[1][0] > drawn[0][0] > drawn[2][0], drawn)
    hidden = spate("report", path, "--blur", "300 m", "--blur-seed", "4", "--anonymous").stdout
    for word in ("80.12345", "179.87654", "80.23456", "179.76543", "79.98765", "179.65432", "80.09876",
                 "179.54321", "home-of"):
        check(f"'{word}' is nowhere in a page that hides", word not in hidden)
    check_drawn("a page that hides", drawn_in(hidden), result_of(hidden)["detail"]["variants"][0]["nodes"])
    moved = []
    for seed in range(BLURS):
        blurred = result_of(spate("report", path, "--blur", "300 m", "--blur-seed", str(seed)).stdout)
        after = blurred["detail"]["variants"][0]["nodes"]
        moved += [way_m(a, b) for a, b in zip(nodes, after)]
    mean = sum(moved) / len(moved)
    check("no step on the ellipsoid is longer than said", max(moved) <= 301, max(moved))
    check("steps on the ellipsoid are even over the disc",
          abs(mean - 300 * 2 / 3) < 4 * 0.236 * 300 / len(moved) ** 0.5, mean)
    both = json.loads(json.dumps(result))
    both["detail"]["variants"][0]["nodes"][0]["x_m"] = 1
    fails("places of both forms", 2, "'x_m' is there too", "report", "-", text=json.dumps(both))


def sorted_views(result, names):
    """What does not depend on names: links between places, in some order."""
    views = []
    for variant in result["detail"]["variants"]:
        radios = [row[0] for row in variant["radios"]["rows"]]
        place = [(node["x_m"], node["y_m"]) for node in variant["nodes"]]
        views.append(sorted(
            (sorted([place[radios[row[0]]], place[radios[row[1]]]]), sorted(map(str, row[2:])))
            for row in variant["links"]["rows"]))
        views.append(sorted(
            (place[row[0]], [str(value) for value in row[1:]]) for row in variant["node_measures"]["rows"]))
        for replay in variant["replay"]:
            views.append([(place[radios[row[0]]], row[1], sorted(place[radios[r]] for r in row[8]),
                           sorted(place[radios[pair[0]]] for pair in row[10]))
                          for row in replay["frames"]["rows"]] if replay else None)
    return views


def check_anonymous(good, result):
    text = spate("report", good, "--anonymous", "--blur-seed", "3").stdout
    page = result_of(text)
    body = json.dumps(page)
    for word in ("ada", "bob", "shed"):
        check(f"'{word}' is nowhere in it", word not in body.lower(),
              re.findall(f".{{60}}{word}.{{20}}", body.lower())[:2])
    check("nodes have numbers, each once", sorted(
        int(node["name"].split()[1]) for node in page["detail"]["variants"][0]["nodes"]) ==
        [1, 2, 3, 4, 5, 6])
    check("measures by node are renamed alike", {
        row["node"] for row in page["variants"][0]["measures"] if "node" in row} <=
        {node["name"] for node in page["detail"]["variants"][0]["nodes"]})
    check("variants and inputs that hold names too", page["variants"][1]["name"] == "variant 1" and
          page["doubts"][0]["path"] == "input 1", page["doubts"])
    check("links, measures and replays are of the same places",
          sorted_views(result, {}) == sorted_views(page, {}))
    orders = {tuple((node["x_m"], node["y_m"]) for node in result_of(
        spate("report", good, "--anonymous", "--blur-seed", str(seed)).stdout)["detail"]["variants"][0]["nodes"]) for seed in range(6)}
    check("their order tells nothing", len(orders) > 3)
    check("the page says so", page["detail"]["places"]["anonymous"] is True)


LABELLED = """
spate: 1
title: What the Grüner Turm hears
run: {duration: 5 min, replications: 1}
bearers:
  air: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,
    propagation: {model: log-distance, exponent: 3}}
nodes:
  hill: {place: {table: hill.csv}, radios: {air: {power: 14 dBm}}, relay: [air]}
traffic:
  talk: {from: hill, to: hill, payload: 20 bytes, every: 1 min}
"""
HILL = 'name,x,y,label\ntower,0 m,0 m,"Grüner Turm, <b>"\nhut,500 m,0 m,\nbarn,900 m,0 m,Grüner Turm\n'


def check_labels(folder):
    """What people call a node is shown beside its name, and hidden with it."""
    for name, text in (("labelled.yaml", LABELLED), ("hill.csv", HILL)):
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write(text)
    kept, made = os.path.join(folder, "labelled.json"), os.path.join(folder, "labelled.yaml")
    done = spate("run", made, "--detail", "--format", "json", "--output", kept)
    page = spate("report", kept).stdout
    labels = {node["name"]: node.get("label") for node in result_of(page)["detail"]["variants"][0]["nodes"]} if page else {}
    check("labels are in the details, any text", labels ==
          {"tower": "Grüner Turm, <b>", "hut": None, "barn": "Grüner Turm"}, f"{labels} {done.stderr}")
    check("labels: the map shows them", "nodeWords(node)" in page and "value: nodeWords" in page)
    hidden = spate("report", kept, "--anonymous").stdout
    check("labels are hidden, also where the title holds one", hidden and "Turm" not in json.dumps(
        result_of(hidden), ensure_ascii=False), result_of(hidden)["scenario"] if hidden else "")
    with open(kept, encoding="utf-8") as file:
        wrong = file.read().replace('"label": "Grüner Turm"', '"label": 7')
    fails("a label that is no text", 2, "node 0: 'label' must be a string", "report", "-", text=wrong)


def check_left_out(result):
    """The page says what docs/model.md says, in its words."""
    model = os.path.join(os.path.dirname(os.path.realpath(sys.argv[3])), "model.md")
    with open(model, encoding="utf-8") as file:
        table = file.read().split("## What is left out")[1]
    rows = [[cell.strip() for cell in line.strip("|").split("|")]
            for line in table.splitlines() if line.startswith("|")][2:]
    check("what is left out is what the model's page says", len(rows) > 5 and
          [[row["what"], row["effect"]] for row in result["detail"]["left_out"]] == rows)


def check_same_words(folder):
    """Nodes, a traffic and a variant that are called as measures and bearers are."""
    plan, json_file = os.path.join(folder, "same.yaml"), os.path.join(folder, "same.json")
    with open(plan, "w", encoding="utf-8") as file:
        file.write(NASTY.split("variants:")[0].replace("talk:", "delivery:").replace("shed", "load")
                   .replace("home-of-ada", "delivery").replace("home-of-bob", "air-hut")
                   + "variants:\n  air-hut-off: {set: {nodes.air-hut.relay: []}}\n")
    spate("compare", plan, "--format", "json", "--detail", "--output", json_file)
    done = spate("report", json_file, "--anonymous", "--blur-seed", "1")
    page = result_of(done.stdout)
    with open(json_file, encoding="utf-8") as file:
        before = json.load(file)
    check("measures keep their names", [row["measure"] for row in page["variants"][0]["measures"]] ==
          [row["measure"] for row in before["variants"][0]["measures"]])
    check("bearers theirs", page["detail"]["variants"][0]["bearers"][0]["name"] == "air")
    check("differences are of variants that there are", {
        row["variant"] for row in page["differences"]} == {"variant 1"} == {
        variant["name"] for variant in page["variants"][1:]}, page["differences"][:1])
    check("each traffic has one number", {
        row["traffic"] for row in page["variants"][0]["measures"] if "traffic" in row} ==
        {"traffic 1", "traffic 2"})
    again = os.path.join(folder, "again.json")
    with open(again, "w", encoding="utf-8") as file:
        json.dump(page, file)
    check("what is hidden is a result still", spate("report", again).returncode == 0,
          spate("report", again).stderr)


with tempfile.TemporaryDirectory() as work:
    nasty = os.path.join(work, "nasty.yaml")
    with open(nasty, "w", encoding="utf-8") as plan:
        plan.write(NASTY)
    detailed = spate("compare", nasty, "--format", "json", "--detail")
    whole = json.loads(detailed.stdout)
    check("threads change no detail", detailed.stdout ==
          spate("compare", nasty, "--format", "json", "--detail", "--jobs", "1").stdout)
    demo = json.loads(spate("compare", DEMO, "--format", "json", "--detail", "--replications", "2",
                            "--variant", "people-first", "--set", "run.duration=20 min").stdout)
    sleepy = json.loads(spate("run", os.path.join(FOLDER, "sleeping-sensors.yaml"), "--variant",
                              "short-preamble", "--format", "json", "--detail", "--replications",
                              "2", "--set", "run.duration=2 h").stdout)
    check_schema({
        "with radios that sleep": sleepy,
        "compare with details": demo,
        "nasty names": whole,
        "run": json.loads(spate("run", DEMO, "--format", "json", "--replications", "1",
                                "--set", "run.duration=20 min").stdout)})
    check("who sleeps is told only where somebody does",
          len(sleepy["detail"]["variants"][0]["sleepers"]["rows"]) == 10 and
          any(way["lost_asleep"]["rows"] for way in sleepy["detail"]["variants"][0]["replay"]) and
          '"sleepers"' not in detailed.stdout and "asleep" not in detailed.stdout)
    ways = [way for way in whole["detail"]["variants"][0]["replay"] if way and "attempts" in way]
    check("tries and acknowledgements are told apart from digests",
          any({0, 1, 2} == set(way["attempts"]) for way in ways) and
          all(way["digests"] == 0 and {row[7] for row in way["frames"]["rows"]} <=
              set(range(len(way["attempts"]))) for way in ways), ways)
    plain_text = json.loads(spate("compare", nasty, "--format", "json").stdout)
    check("details change no measure", {key: value for key, value in whole.items()
                                        if key != "detail"} == plain_text)
    kept = check_broken(work, detailed.stdout, whole)
    made = spate("report", kept)
    check_page(made.stdout, whole)
    at_once = os.path.join(work, "at-once.html")
    both = spate("compare", nasty, "--report", at_once)
    check("--report writes the page and the table", both.returncode == 0 and
          "traffic talk" in both.stdout and open(at_once, encoding="utf-8").read() == made.stdout,
          both.stderr)
    fails("--report where the measures go", 2, "is where --output goes", "run", nasty,
          "--report", at_once, "--output", at_once)
    fails("--report to standard output", 2, "standard output takes the result", "run", nasty,
          "--report", "-")
    for option in (["--blur", "9 m"], ["--anonymous"]):
        fails(f"{option[0]} of what is no page", 2, "go with --report", "run", nasty, *option,
              "--format", "json", "--detail")
    check_left_out(whole)
    check_same_words(work)
    check_blur(work, kept, whole)
    check_anonymous(kept, whole)
    check_labels(work)
    check_degrees(work)
end()
