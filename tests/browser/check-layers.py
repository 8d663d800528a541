#!/usr/bin/env python3
"""check-layers.py SPATE FOLDER - coverage and relief lie under the map where they should, and can be switched off"""

import subprocess

import pages

GROUND = 60, 50  # cells of 40 m, from (-400, -400) on
HOW = ["--coverage", "--radio", "walker", "--cell", "50 m", "--margin", "200 m"]

# What is under the corners of a layer on the paper of the map, and its pixels, by reading the picture.
CORNERS = """(name => {
    const image = document.querySelector(`#map svg.stage image.${name}`);
    const scales = groundScales(pictureOf(0));
    const [width, height] = ['width', 'height'].map(key => Number(image.getAttribute(key)));
    const at = (column, row) => {
        const point = new DOMPoint(column, row).matrixTransform(image.transform.baseVal.consolidate().matrix);
        return [scales.x.invert(point.x), scales.y.invert(point.y)];
    };
    return [at(0, 0), at(width, 0), at(0, height)];
})"""
PIXELS = """(async name => {
    const image = document.querySelector(`#map svg.stage image.${name}`);
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = ['width', 'height'].map(key => Number(image.getAttribute(key)));
    const picture = new Image();
    picture.src = image.getAttribute('href');
    await picture.decode();
    const context = canvas.getContext('2d');
    context.drawImage(picture, 0, 0);
    const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
    return Array.from({length: data.length / 4}, (_, i) => [...data.slice(4 * i, 4 * i + 4)]);
})"""


def drawn(page, name):
    return page.evaluate(f"document.querySelectorAll('#map svg.stage image.{name}').length")


def text_of_map(page):
    return pages.reader(page, "text", "#map")


def check_place(page, name, grid):
    """In metres the corners on paper are those of the grid."""
    west, north = grid["west"], grid["south"] + grid["rows"] * grid["height"]
    east = west + grid["columns"] * grid["width"]
    wanted = [[west, north], [east, north], [west, grid["south"]]]
    got = page.evaluate(f"{CORNERS}('{name}')")
    pages.check(f"{name} lies where its cells are", [f"{a} for {b}" for a, b in zip(got, wanted)
                                                    if max(abs(p - q) for p, q in zip(a, b)) > 0.2])


def check_coverage(page, detail):
    coverage = detail["variants"][0]["coverage"]
    steps = page.evaluate("ADDITIONS.steps")
    for i, layer in enumerate(coverage["layers"]):
        name = detail["variants"][0]["bearers"][layer["bearer"]]["name"]
        page.click(f"#coverage-{i}")
        pages.check_true(f"coverage on {name} can be chosen", f"Coverage on {name}: relays that hear the radio of walker" in
                         text_of_map(page), text_of_map(page))
        wanted = [steps[step]["colour"] for step, n in layer["runs"] for _ in range(n)]
        pages.check_true("... and each cell has the colour of its step", page.evaluate(f"{PIXELS}('coverage')") == wanted and
                         len({tuple(colour) for colour in wanted}) > 2)
    check_place(page, "coverage", coverage["grid"])
    key = page.evaluate("[...document.querySelectorAll('#map .key rect.coverage')].map(one => "
                        "[getComputedStyle(one).fill, one.closest('li').textContent])")
    pages.check_equal("the legend has a swatch and words for each step", key[-6:], [
        ["rgb({}, {}, {})".format(*step["colour"]), step["words"]] for step in steps[1:]])
    table = page.evaluate("[...document.querySelectorAll('#plot-map table')].at(-1)"
                          ".querySelectorAll('td[data-value]').length")
    pages.check_equal("its numbers are in a table", table, 6)


def check_switches(page):
    page.click("#show-coverage")
    pages.check_equal("coverage can be switched off", (drawn(page, "coverage"), drawn(page, "relief")), (0, 1))
    pages.check_true("... and its legend with it", "Coverage on" not in text_of_map(page) and
                     page.evaluate("document.querySelectorAll('#map .key rect.coverage').length") == 0)
    pages.check_equal("... and the switch keeps the focus", page.evaluate("document.activeElement.id"), "show-coverage")
    page.press("Space")
    pages.check_equal("a key switches it on again", drawn(page, "coverage"), 1)
    page.click("#show-relief")
    pages.check_equal("the relief can be switched off", (drawn(page, "relief"), drawn(page, "coverage")), (0, 1))
    page.click("#show-coverage")
    pages.check_true("with neither the map is as ever", page.evaluate(
        "!document.querySelector('#map svg.layered, #map path.casing')"))
    page.click("#show-coverage")
    page.click("#show-relief")
    order = page.evaluate("[...document.querySelectorAll('#map svg.stage > g:first-child > *')].map(one => "
                          "one.getAttribute('class')).slice(0, 3)")
    pages.check_equal("relief is below coverage, both below all else", order, ["relief", "coverage", "casing"])


def check_relief(page, detail):
    relief = detail["relief"]
    check_place(page, "relief", relief["grid"])
    pixels = page.evaluate(f"{PIXELS}('relief')")
    seen = [pixel[3] for pixel in pixels]
    pages.check_equal("holes of the ground are transparent", seen, [0 if shade == "A" else 255 for shade in relief["shades"]])
    pages.check_true("... there are some", 0 < seen.count(0) < len(seen) / 2)
    lit = [pixel[0] for pixel, shade in zip(pixels, relief["shades"]) if shade == max(relief["shades"].replace("A", ""),
           key=page.evaluate("SHADES").index)]
    pages.check_equal("what faces the light is the lightest", {max(pixel[0] for pixel in pixels)}, set(lit))
    pages.check_true("the page names the model, and what to ask of it", "Relief: ground.asc in light from the north-west" in
                     text_of_map(page) and "bare earth" in text_of_map(page))


def check_looks(page, path):
    for what, size, dark in (("desk", (1200, 900), False), ("dark", (1200, 900), True), ("phone", (360, 740), False)):
        page.size(*size, mobile=what == "phone")
        page.media(dark=dark)
        pages.open_page(page, path)
        pages.check(f"{what}: nothing stands out sideways, and the controls are large enough",
                    pages.judge(page, "overflow") + pages.judge(page, "smallControls", 24))
        pages.check(f"{what}: all writing of the map can be read", [
            wrong for wrong in pages.judge(page, "spoiltText") + pages.judge(page, "contrast") if "map" in wrong])
        pages.check(f"{what}: nothing went wrong", pages.went_wrong(page, path))
    page.media()
    page.size(1200, 900)


def make(name, text, *options):
    scenario, path = pages.file(f"{name}.yaml"), pages.file(f"{name}.html")
    with open(scenario, "w", encoding="ascii") as file:
        file.write(text)
    pages.spate("run", scenario, "--quiet", "--output", pages.file("measures.txt"), "--report", path, *options)
    return path


def result_of(page):
    return page.evaluate("RESULT")


def has_terrain():
    done = subprocess.run([pages.SPATE, "lint", pages.file("ground.yaml")], capture_output=True, text=True, check=False)
    return "without GDAL" not in done.stderr + done.stdout


def write_ground():
    """A ridge from north to south, and a hole in the north-east."""
    columns, rows = GROUND
    with open(pages.file("ground.asc"), "w", encoding="ascii") as file:
        file.write(f"ncols {columns}\nnrows {rows}\nxllcorner -400\nyllcorner -400\ncellsize 40\nNODATA_value -9999\n")
        for row in range(rows):
            file.write(" ".join("-9999" if column > 36 and row < 18 else f"{300 - 8 * abs(column - 20) + row:.1f}"
                                for column in range(columns)) + "\n")


PLAN = """spate: 1
title: What lies under the map
run: {duration: 2 min, cool-down: 10 s}
bearers:
  valley: {kind: lora, frequency: 869.5 MHz, bandwidth: 125 kHz, spreading-factor: 7,
    propagation: {model: log-distance, exponent: 3.7}}
  yard: {kind: dsss, frequency: 2437 MHz, propagation: {model: log-distance, exponent: 3}}
nodes:
  barn: {at: {x: 0 m, y: 0 m, height: 6 m}, radios: {valley: {power: 14 dBm}, yard: {power: 14 dBm}}, relay: [valley, yard]}
  mill: {at: {x: 1200 m, y: 300 m, height: 9 m}, radios: {valley: {power: 14 dBm}}, relay: [valley]}
  ridge: {at: {x: 700 m, y: 900 m, height: 12 m}, radios: {valley: {power: 20 dBm}}, relay: [valley]}
  walker: {at: {x: 800 m, y: 200 m}, radios: {valley: {power: 8 dBm}, yard: {power: 8 dBm}},
    moves: {along: [{x: 300 m, y: 500 m}], speed: 1 m/s}}
traffic:
  talk: {from: walker, to: everyone, payload: 20 bytes, every: 1 min}
"""

pages.need_browser()
tab = pages.browser().new_page()
tab.size(1200, 900)
shown = make("plane", PLAN, *HOW)
pages.open_page(tab, shown)
check_coverage(tab, result_of(tab)["detail"])
pages.check_equal("a plane has no relief", tab.evaluate("document.getElementById('show-relief')"), None)
write_ground()
with open(pages.file("ground.yaml"), "w", encoding="ascii") as written:
    written.write(PLAN.replace("run:", "terrain: {elevation: ground.asc}\nrun:"))
if has_terrain():
    shown = make("ground", PLAN.replace("run:", "terrain: {elevation: ground.asc}\nrun:"), *HOW)
    pages.open_page(tab, shown)
    check_relief(tab, result_of(tab)["detail"])
    check_switches(tab)
    check_looks(tab, shown)
else:
    pages.tell("this build has no GDAL: no relief")
bare = make("bare", PLAN)
pages.open_page(tab, bare)
pages.check_equal("without layers there are no switches", tab.evaluate(
    "document.querySelectorAll('#show-coverage, #show-relief').length"), 0)
hidden = make("hidden", PLAN, *HOW, "--blur", "50 m")
pages.open_page(tab, hidden)
pages.check_true("what hides places says that layers are left out", drawn(tab, "coverage") == 0 and
                 "Coverage and the relief of the ground, which would give places away, are left out" in text_of_map(tab))
pages.check("nothing went wrong", pages.went_wrong(tab, hidden))
pages.end()
