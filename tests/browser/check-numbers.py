#!/usr/bin/env python3
"""check-numbers.py SPATE FOLDER - the numbers of the page are those of the result, both ways

What each table has to hold is worked out here from the result alone, as {(table, row, column):
value}; the page has to hold just that.
"""

import json
import math
import os
import re

import pages

LATENCIES = ["mean", "p50", "p95", "p99", "max"]
OUTCOMES = ["received", "lost_collision", "lost_busy", "lost_sending", "lost_blocked", "lost_asleep"]


# ---- what there should be

# Tables that there are where messages want an answer.
ANSWERS = ["acknowledged", "tries-mean"]


def measures(variant, measure, *dimensions):
    return [row for row in variant["measures"] if row["measure"] == measure and
            {key for key in ("traffic", "bearer", "node", "bridge") if key in row} == set(dimensions)]


def estimate(table, labels, row):
    low, high = row["ci95"] or (None, None)
    return {(table, labels, column): value
            for column, value in (("mean", row["mean"]), ("low", low), ("high", high))}


def compared(result):
    """Tables that hold all variants."""
    wanted = {}
    for variant in result["variants"]:
        name = variant["name"]
        for measure in ("delivery", "delivery-in-time", *ANSWERS):
            for row in measures(variant, measure, "traffic"):
                wanted |= estimate(measure, (row["traffic"], name), row)
        for row in measures(variant, "load", "bearer"):
            wanted |= estimate("load", (row["bearer"], name), row)
        for row in measures(variant, "load", "traffic", "bearer"):
            if is_ever_on(result, row):
                wanted |= estimate("load", (f"{row['bearer']}: {row['traffic']}", name), row)
        for column in LATENCIES:
            for row in measures(variant, f"latency-{column}", "traffic"):
                wanted["latency", (row["traffic"], name), column] = row["mean"]
        for number, outcome in enumerate(OUTCOMES):
            for row in measures(variant, outcome.replace("_", "-"), "bearer"):
                wanted["losses-bearer", (f"{row['bearer']}, {name}",), number] = row["mean"]
    return wanted


def is_ever_on(result, row):
    return any(other["mean"] > 0 for variant in result["variants"]
               for other in measures(variant, "load", "traffic", "bearer")
               if (other["traffic"], other["bearer"]) == (row["traffic"], row["bearer"]))


def rows_of(table):
    return [dict(zip(table["columns"], row)) for row in table["rows"]]


def detailed(result, variant):
    """Tables that hold the variant that is chosen."""
    detail = result["detail"]["variants"][variant]
    radios = rows_of(detail["radio_measures"])
    for row in rows_of(detail["sleepers"]) if "sleepers" in detail else []:
        radios[row["radio"]]["lost_asleep"] = row["lost_asleep"]
    names = [node["name"] for node in detail["nodes"]]
    bearers = [bearer["name"] for bearer in detail["bearers"]]
    wanted = {}
    for node, row in zip(detail["nodes"], rows_of(detail["node_measures"])):
        wanted |= of_node(node, row, [radios[radio] for radio in node["radios"]])
    for (node, bearer), row in zip(detail["radios"]["rows"], radios):
        for number, outcome in enumerate(OUTCOMES):
            if outcome in row:
                wanted["losses-receiver", (f"{names[node]} on {bearers[bearer]}",), number] = row[outcome]
    for row in detail["timeline"]["rows"]:
        if row["traffic"] is None:
            for column in ("mean", "low", "high"):
                for step, value in enumerate(row[column]):
                    at = step * result["detail"]["timeline_step_s"]
                    wanted["airtime", (bearers[row["bearer"]], round(at, 6)), column] = value
    for row in detail["latency"]:
        for hops in {hops for hops, _, _ in row["bins"]}:
            bins = sorted((bin, count) for of, bin, count in row["bins"] if of == hops)
            wanted |= of_hops((row["traffic"], hops), bins, result["detail"]["latency_bins"])
    return wanted


def of_node(node, row, radios):
    """Its row of the map's table: the share of the time it sends is the sum of its radios'."""
    audible = sum(radio["audible_per_hour"] for radio in radios)
    received = sum(radio["audible_per_hour"] * (radio["received"] or 0) for radio in radios)
    return {("map", (node["name"],), column): value for column, value in (
        ("gets", row["delivery"]), ("low", row["low"]), ("high", row["high"]),
        ("of pairs", row["pairs"]), ("of its own arrive", row["from_delivery"]),
        ("sends", sum(radio["sending"] for radio in radios)),
        ("loses", 1 - received / audible if audible else None))}


def of_hops(labels, bins, form):
    """How many came, and the middle of the bin by which a share of them is there."""
    total = sum(count for _, count in bins)
    wanted = {("hops", labels, "deliveries"): total}
    for column, share in (("5 % within", 0.05), ("half within", 0.5), ("95 % within", 0.95)):
        so_far = 0
        for bin, count in bins:
            so_far += count
            if so_far >= share * total:
                middle = form["first_s"] * 10 ** ((bin + 0.5) / form["per_decade"])
                wanted["hops", labels, column] = middle
                break
    return wanted


# ---- what there is

def found(page, table):
    """A table of the page in the same form; rows of numbers are told by their first number."""
    there = {}
    first = None
    for cell in pages.reader(page, "numbers", table):
        heads = {"of": cell["column"][-1]}
        labels = tuple(cell["row"])
        if table == "airtime":
            if heads["of"] == "from":
                first = round(float(cell["value"]), 6)
                continue
            labels = (cell["caption"].split(",")[0], first)
        if table == "hops":
            if heads["of"] == "hops":
                first = int(cell["value"])
                continue
            labels = (*labels, first)
        key = (table, labels, heads["of"])
        if key in there:
            there[key, "twice"] = cell["value"]
        there[key] = float(cell["value"])
    return there


def by_outcome(there):
    """Columns of outcomes are told by their places: their headings are words for people."""
    columns = list(dict.fromkeys(column for _, _, column in there))
    return {(table, row, columns.index(column)): value
            for (table, row, column), value in there.items()}


def compare(page, what, wanted, tables, is_part=False):
    """Both ways, unless a table shows only some rows: then these, and none else."""
    wanted = {key: value for key, value in wanted.items() if value is not None}
    for table in tables:
        there = found(page, table)
        if table.startswith("losses-"):
            there = by_outcome(there)
        of_table = {key: float(value) for key, value in wanted.items() if key[0] == table}
        # What is worked out from several numbers may differ in the last bits.
        wrongs = [f"{key[1:]}: shows {value}, not {of_table.get(key)}"
                  for key, value in there.items()
                  if not math.isclose(of_table.get(key, math.nan), value, rel_tol=1e-12,
                                      abs_tol=1e-15)]
        if not is_part:
            wrongs += [f"{key[1:]}: {value} is missing" for key, value in of_table.items()
                       if key not in there]
        pages.check(f"{what}: {table}, {len(there)} numbers",
                    wrongs or ([] if there else ["no numbers"]))


def check_shown(page):
    """What is read is what it stands for, to the last digit that is shown."""
    wrongs = []
    for plot in [*pages.PLOTS, *ANSWERS, "map"]:
        for cell in pages.reader(page, "numbers", plot):
            if plot == "airtime" and cell["column"][-1] == "from":
                if cell["shown"] != clock(float(cell["value"])):
                    wrongs.append(f"{plot}: shows {cell['shown']} for {cell['value']} s")
                continue
            shown = re.fullmatch(r"([-+]?\d+(?:\.(\d+))?)( %| s| erlang|)",
                                 cell["shown"].replace("\u2212", "-"))
            if not shown:
                wrongs.append(f"{plot}: {cell['shown']}")
                continue
            scale = 100 if shown[3] == " %" else 1
            half = 0.5 * 10 ** -len(shown[2] or "")
            if abs(float(shown[1]) - scale * float(cell["value"])) > half * (1 + 1e-6):
                wrongs.append(f"{plot}: shows {cell['shown']} for {cell['value']}")
    pages.check("what is shown is the value, rounded", wrongs)


def clock(at_s):
    """An instant as the program's messages write it: 1:18:30.994."""
    at_ms = int(round(at_s * 1e9)) // 1000000
    return (f"{at_ms // 3600000}:{at_ms // 60000 % 60:02}:{at_ms // 1000 % 60:02}."
            f"{at_ms % 1000:03}")


def check_instants(page, result):
    """The messages to choose from bear the instants of their offers."""
    said = page.evaluate("[...document.querySelectorAll('#replay-message option')]"
                         ".map(one => one.text)")
    pages.check("instants look like a clock", [
        f"{text}: not {clock(message['offered_s'])}"
        for text, message in zip(said, result["detail"]["messages"], strict=True)
        if f" at {clock(message['offered_s'])} (" not in text])


# ---- the answer

CHANGES = {"delivery in time": "delivery-in-time", "delivery": "delivery",
           "95 % there within": "latency-p95", "mean delay": "latency-mean",
           "time on the air": "load"}
LINE = re.compile(r"(.+), (" + "|".join(CHANGES) + r"): from (\S+) to (\S+) \S+, (\S+) "
                  r"(points|s|erlang) \((\S+) to (\S+)\)(.*)")
# Student's t, two-sided 95 %, for 1 to 9 degrees of freedom; above, within 7 % of 1.96 + 2.4 / n.
STUDENT = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262]


def student(freedom):
    return STUDENT[freedom - 1] if freedom <= len(STUDENT) else 1.96 + 2.4 / freedom


def runs_wanted(change):
    """The first number of runs at which an interval of the same spread would leave 0 out."""
    half = (change["ci95"][1] - change["ci95"][0]) / 2
    spread = half / student(change["n"] - 1) * change["n"] ** 0.5
    n = change["n"]
    while n < 20000 and student(n - 1) * spread / n ** 0.5 >= abs(change["mean"]):
        n += 1
    return n - change["n"]


def is_shown(shown, value):
    """Whether it is the value as far as it is shown, and does not look like 0 unless it is."""
    half = 0.5 * 10 ** -len(shown.partition(".")[2])
    return (abs(float(shown) - value) <= half * (1 + 1e-6) and
            (float(shown) != 0) == (value != 0))


def wrong_verdict(change, measure, verdict):
    low, high = change["ci95"]
    better = -1 if measure.startswith("latency") else 1
    wanted = ("load" if measure == "load" else "same" if low == high == 0 else
              "undecided" if low <= 0 <= high else
              "gains" if better * change["mean"] > 0 else "loses")
    return [] if verdict == wanted else [f"is {verdict}, not {wanted}"]


def wrong_forecast(change, said):
    low, high = change["ci95"]
    found = re.search(r"about (\d+) more runs? would likely decide", said)
    many = "more than 10000 further runs" in said
    if not low <= 0 <= high or change["mean"] == 0:
        return [f"decided, but: {said}"] if found or many else []
    wanted = runs_wanted(change)
    if many and wanted > 9000:
        return []
    return [] if found and abs(int(found[1]) - wanted) <= 2 + 0.15 * wanted else [
        f"{said or 'nothing'}, not about {wanted} more"]


def wrong_line(result, line, match):
    name, text, before, after, mean, _, low, high, said = match.groups()
    measure = CHANGES[text]
    key = "bearer" if measure == "load" else "traffic"
    of = [row for row in result["differences"] if row["measure"] == measure and
          row["variant"] == line["variant"] and
          {one: row[one] for one in ("traffic", "bearer") if one in row} == {key: name}]
    if len(of) != 1:
        return [f"{len(of)} differences are called so"]
    change = of[0]
    rows = [next(row for row in measures(variant, measure, key) if row[key] == name)
            for variant in result["variants"]
            if variant["name"] in (result["variants"][0]["name"], line["variant"])]
    scale = 100 if change["measure"].startswith("delivery") else 1
    wanted = [rows[0]["mean"], rows[1]["mean"], change["mean"], *change["ci95"]]
    wrongs = [f"shows {shown} for {scale * value}"
              for k, (shown, value) in enumerate(zip((before, after, mean, low, high), wanted))
              if not is_shown(shown, scale * value) and not (k < 2 and float(shown) == 0)]
    return (wrongs + wrong_verdict(change, measure, line["verdict"]) +
            wrong_forecast(change, said))


def check_answer(page, result, what="the answer"):
    """Each variant's gains and losses, and those of every traffic."""
    wrongs = []
    told = set()
    for line in pages.reader(page, "changes"):
        told.add((line["variant"], line["text"].split(", ")[0]))
        match = LINE.fullmatch(line["text"])
        if match:
            wrongs += [f"{line['variant']}: {line['text']}: {wrong}"
                       for wrong in wrong_line(result, line, match)]
        elif line["verdict"] not in ("same", "none"):
            wrongs.append(f"{line['variant']}: {line['text']}")
    for variant in result["variants"][1:]:
        wrongs += [f"{variant['name']}: nothing of {row['traffic']}"
                   for row in measures(variant, "delivery", "traffic")
                   if (variant["name"], row["traffic"]) not in told]
    pages.check(f"{what}: what each traffic gains and loses", wrongs)
    said = pages.reader(page, "text", "#answer")
    pages.check(f"{what}: it says what the model leaves out, and never 'no change'",
                [text for text in ("The model leaves out woods and houses between nodes",)
                 if text not in said] +
                [text for text in ("no difference", "not distinguishable") if text in said])


def check_price(page, result):
    """The first lines name the worst loss of each variant, also if it is one of time alone."""
    said = pages.reader(page, "text", "#answer").replace("\u2212", "-")
    lines = {line.split(",")[0].removeprefix("With "): line for line in said.splitlines()
             if line.startswith("With ")}
    wrongs = [f"{variant['name']}: nothing" for variant in result["variants"][1:]
              if variant["name"] not in lines]
    for measure, better in (("delivery", 1), ("latency-p95", -1)):
        for change in result["differences"]:
            is_loss = change["ci95"] and max(better * edge for edge in change["ci95"]) < 0
            if change["measure"] == measure and is_loss and not (
                    "The price: " in (line := lines.get(change["variant"], "")) and
                    f" of {change['traffic']} " in line.split("The price: ")[1]):
                wrongs.append(f"{change['variant']}, {change['traffic']}: {line}")
    pages.check("the answer begins with the price", wrongs)


def with_narrow_gain(result):
    """One gain whose interval begins so near 0 that it would look like 0, and one measure that
    never changes: a half of 0.38 points is t(3) = 3.182 times the spread over the root of 4."""
    step = 0.0038 / 3.182 * 3 ** 0.5
    base, other = result["variants"][:2]
    for measure, mean, steps in (("delivery", 0.004, (step, -step, step, -step)),
                                 ("delivery-in-time", 0.0, (0, 0, 0, 0))):
        before, after = (next(row for row in measures(variant, measure, "traffic")
                              if row["traffic"] == "talk") for variant in (base, other))
        after["values"] = [value + mean + add for value, add in zip(before["values"], steps)]
        after["mean"] = before["mean"] + mean
        half = 0.0038 if mean else 0
        for change in result["differences"]:
            if (change["variant"], change["measure"], change.get("traffic")) == (
                    other["name"], measure, "talk"):
                change.update(mean=mean, ci95=[mean - half, mean + half])
    return result


def with_open_loss(result):
    """A traffic that two runs in four say loses much, and two that it hardly does: a half of 25
    points is t(3) = 3.182 times the spread over the root of 4."""
    step = 0.25 / 3.182 * 3 ** 0.5
    base, other = result["variants"][:2]
    before, after = (next(row for row in measures(variant, "delivery-in-time", "traffic")
                          if row["traffic"] == "talk") for variant in (base, other))
    after["values"] = [value - 0.2 + add
                       for value, add in zip(before["values"], (step, -step, step, -step))]
    after["mean"] = before["mean"] - 0.2
    for change in result["differences"]:
        if (change["variant"], change["measure"], change.get("traffic")) == (
                other["name"], "delivery-in-time", "talk"):
            change.update(mean=-0.2, ci95=[-0.45, 0.05])
    return result


def check_open_loss(page, result):
    """A large loss that is not sure is named beside the clearest gain."""
    name = result["variants"][1]["name"]
    said = pages.reader(page, "text", "#answer").replace("\u2212", "-")
    line = next((line for line in said.splitlines() if line.startswith(f"With {name}, ")), "")
    wanted = r"; it is undecided whether [^;]* of talk arrives in time [^;]*\(-20\.0 points, "
    pages.check("the answer names a large loss that is undecided",
                [] if re.search(wanted, line) else [line])


# ---- nodes that move, nodes that fail

def steps_of_run(name):
    """What the event log says of moves in the first run: [node, seconds, x, y]."""
    path = pages.file(f"{name}.jsonl")
    pages.spate("run", os.path.join(pages.FOLDER, f"{name}.yaml"), "--quiet", "--replications", "1",
                "--output", pages.file("measures.txt"), "--events", path)
    with open(path, encoding="utf-8") as lines:
        events = [json.loads(line) for line in lines]
    return [[event["node"], event["at_s"], event["x_m"], event["y_m"]] for event in events
            if event["event"] == "moved"]


def check_places(page, steps):
    """The page works out the place of a node by itself: at each step it is that of the run, and just
    before it that of the step before."""
    told = page.evaluate("(steps => steps.map(([name, at]) => { "
                         "const node = pictureOf(0).nodes.find((one) => one.name === name);"
                         "return [at, at - 0.01].map((when) => placeAt(node, when))"
                         ".map((place) => [place.x_m, place.y_m]); }))"
                         f"({json.dumps(steps)})")
    pages.check_true("there are steps of two nodes", len(steps) > 500 and
                     {step[0] for step in steps} == {"walker", "rider"}, len(steps))
    before, wrongs = {"walker": (100, 100), "rider": (0, -400)}, []
    for (name, at_s, x_m, y_m), (now, just_before) in zip(steps, told):
        if math.dist(now, (x_m, y_m)) > 0.01 or math.dist(just_before, before[name]) > 0.01:
            wrongs.append(f"{name} at {at_s}: {now} after {just_before}, not {x_m}, {y_m}")
        before[name] = (x_m, y_m)
    pages.check("nodes that move are where the run has them", wrongs)


STAGE = """(() => { const drawn = {};
  d3.selectAll('#replay g.node').each(function each(node) {
    const [x, y] = /translate\\(([^,]+),([^)]+)\\)/.exec(this.getAttribute('transform')).slice(1).map(Number);
    const cross = this.querySelector('path.down').getAttribute('display') !== 'none';
    drawn[node.name] = [player.stage.scales.x.invert(x), player.stage.scales.y.invert(y), cross];
  });
  return drawn; })()"""


def check_stage(page, steps):
    """Where the replay of the last message draws who, and who is crossed out."""
    offered = page.evaluate("DETAIL.messages.map((message) => message.offered_s)")
    number = next(i for i, at_s in enumerate(offered) if at_s == 240)
    page.evaluate(f"""(() => {{ const list = document.getElementById('replay-message');
        list.value = '{number}'; list.dispatchEvent(new Event('change', {{bubbles: true}})); }})()""")
    first = page.evaluate(STAGE)
    wanted = {name: next(([x, y] for node, at_s, x, y in reversed(steps) if node == name and at_s <= 240))
              for name in ("walker", "rider")}
    pages.check("the replay draws them where they are at its start",
                [f"{name}: {first[name]}, not {place}" for name, place in wanted.items()
                 if math.dist(first[name][:2], place) > 0.1])
    crossed, said = [], []
    for at in range(page.evaluate("player.steps.length")):
        page.evaluate(f"go({at})")
        drawn = page.evaluate(STAGE)
        crossed.append({name for name, (_, _, cross) in drawn.items() if cross})
        said.append(pages.reader(page, "text", "#replay-log"))
    pages.check_true("who is down when the message is offered is crossed out from the second step on",
                     "barn is out of order" in said[1] and all("barn" in now for now in crossed[1:]),
                     [said[1], crossed])
    down, back = (next(i for i, text in enumerate(said) if words in text)
                  for words in ("mill fails", "mill is back"))
    pages.check_equal("who fails meanwhile is, until it is back",
                      [i for i, now in enumerate(crossed) if "mill" in now], list(range(down, back)))


def check_moves(page):
    path = pages.simulate("run", "moving", "--detail")
    pages.open_page(page, pages.make_page(path, name="moving"))
    steps = steps_of_run("moving")
    check_places(page, steps)
    check_stage(page, steps)
    ways = page.evaluate("[...document.querySelectorAll('#map path.way')].map(one => one.getAttribute('d'))")
    pages.check_true("the map shows the way of each, with arrows",
                     [path.count("L") for path in ways[-2:]] == [2, 2] and page.evaluate(
                         "document.querySelectorAll('#map svg.stage path.way-arrow').length") == 4, ways)


pages.need_browser()
tab = pages.browser().new_page()
path = pages.simulate("compare", "small", "--detail")
now = pages.read(path)
pages.open_page(tab, pages.make_page(path))
ALL = ["delivery", "delivery-in-time", *ANSWERS, "load", "latency", "losses-bearer"]
compare(tab, "all variants", compared(now), ALL)
for chosen in range(len(now["variants"])):
    tab.click(f'input[name="variant"][value="{chosen}"]')
    name = now["variants"][chosen]["name"]
    compare(tab, name, detailed(now, chosen), ["airtime", "map", "hops"])
    compare(tab, name, detailed(now, chosen), ["losses-receiver"], is_part=True)
check_shown(tab)
check_instants(tab, now)
check_answer(tab, now)
check_price(tab, now)
narrow = with_narrow_gain(pages.read(path))
pages.open_page(tab, pages.make_page(pages.write(pages.file("narrow.json"), narrow), name="narrow"))
check_answer(tab, narrow, "a small gain")
wide = with_open_loss(pages.read(path))
pages.open_page(tab, pages.make_page(pages.write(pages.file("wide.json"), wide), name="wide"))
check_open_loss(tab, wide)
path = pages.simulate("run", "small", "--detail", "--set",
                      "nodes.house.radios.valley.listens={every: 400 ms, for: 100 ms}")
sleepy = pages.read(path)
pages.open_page(tab, pages.make_page(path, name="sleepy"))
compare(tab, "with radios that sleep", compared(sleepy), ["losses-bearer"])
compare(tab, "with radios that sleep", detailed(sleepy, 0), ["losses-receiver"], is_part=True)
told = tab.evaluate("""DETAIL.messages.flatMap((message, i) => {
  const replay = DETAIL.variants[0].replay[i];
  return replay ? stepsOfReplay(pictureOf(0), message, replay).map((step) => step.text) : [];
})""")
pages.check("a replay says who slept through it",
            [] if any("slept through it" in step for step in told) else told)
check_moves(tab)
path = pages.simulate("compare", "small")
pages.open_page(tab, pages.make_page(path, name="bare"))
compare(tab, "without detail", compared(pages.read(path)), ALL)
check_answer(tab, pages.read(path), "without detail")
pages.end()
