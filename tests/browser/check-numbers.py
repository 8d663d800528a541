#!/usr/bin/env python3
"""check-numbers.py SPATE FOLDER - the numbers of the page are those of the result, both ways

What each table has to hold is worked out here from the result alone, as {(table, row, column):
value}; the page has to hold just that.
"""

import math
import re

import pages

LATENCIES = ["mean", "p50", "p95", "p99", "max"]
OUTCOMES = ["received", "lost_collision", "lost_busy", "lost_sending", "lost_blocked"]


# ---- what there should be

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
        for measure in ("delivery", "delivery-in-time"):
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
    names = [node["name"] for node in detail["nodes"]]
    bearers = [bearer["name"] for bearer in detail["bearers"]]
    wanted = {}
    for node, row in zip(detail["nodes"], rows_of(detail["node_measures"])):
        wanted |= of_node(node, row, [radios[radio] for radio in node["radios"]])
    for (node, bearer), row in zip(detail["radios"]["rows"], radios):
        for number, outcome in enumerate(OUTCOMES):
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
    """Its row of the map's table: the share of the time that it sends is the sum of its radios'."""
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
    for plot in [*pages.PLOTS, "map"]:
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


def check_answer(page, result):
    """The answer tells a traffic's share before and after, and the difference with its interval."""
    said = pages.reader(page, "text", "#answer").replace("\u2212", "-")
    base, other = result["variants"][:2]
    wrongs = []
    for measure in ("delivery-in-time", "delivery"):
        for row in measures(other, measure, "traffic"):
            before = next(one for one in measures(base, measure, "traffic")
                          if one["traffic"] == row["traffic"])
            change = next(one for one in result["differences"] if one["measure"] == measure and
                          one["traffic"] == row["traffic"] and one["variant"] == other["name"])
            if f" of {row['traffic']} " not in said:
                continue
            wrongs.append([text for text in (
                other["name"], f"{100 * row['mean']:.1f} %", f"{100 * before['mean']:.1f} %",
                *(f"{100 * value:+.1f} points" for value in (change["mean"], *change["ci95"])))
                if text.replace("+0.0", "0.0") not in said])
    pages.check("the answer's numbers", min(wrongs, key=len, default=["names no traffic"]))


pages.need_browser()
tab = pages.browser().new_page()
path = pages.simulate("compare", "small", "--detail")
now = pages.read(path)
pages.open_page(tab, pages.make_page(path))
ALL = ["delivery", "delivery-in-time", "load", "latency", "losses-bearer"]
compare(tab, "all variants", compared(now), ALL)
for chosen in range(len(now["variants"])):
    tab.click(f'input[name="variant"][value="{chosen}"]')
    name = now["variants"][chosen]["name"]
    compare(tab, name, detailed(now, chosen), ["airtime", "map", "hops"])
    compare(tab, name, detailed(now, chosen), ["losses-receiver"], is_part=True)
check_shown(tab)
check_instants(tab, now)
check_answer(tab, now)
path = pages.simulate("compare", "small")
pages.open_page(tab, pages.make_page(path, name="bare"))
compare(tab, "without detail", compared(pages.read(path)), ALL)
pages.end()
