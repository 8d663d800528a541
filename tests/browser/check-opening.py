#!/usr/bin/env python3
"""check-opening.py SPATE FOLDER - the report opens from disk, whole, whatever the result holds"""

import re

import pages

# Strings that a careless page would take for markup, for code, or for a property of its objects.
HOSTILE = [
    "<script>window.hacked=1</script>", "</script><script>window.hacked=1</script>", "toString",
    "__proto__", "constructor", "\"><img src=x onerror=window.hacked=1>",
    "' onclick='window.hacked=1' x='", "<!--<script>", "]]>", "&lt;b&gt;&amp;", "$&$1`",
    "line\u2028end", "javascript:window.hacked=1", "a\\\"b", "{{7*7}}", "\u202eright to left",
]
NEED_DETAIL = ["map", "losses", "airtime", "hops", "replay"]


def check_whole(page, what, path, plots):
    """Opens a page; it has all its parts, and did nothing but show them."""
    pages.open_page(page, path)
    pages.check(f"{what}: opens from disk, alone and without errors", pages.went_wrong(page, path))
    pages.check_equal(f"{what}: all sections, in order", pages.reader(page, "sections"),
                      pages.SECTIONS)
    pages.check(f"{what}: all plots, none empty", pages.reader(page, "emptyPlots", plots))
    pages.check(f"{what}: each picture has its words", pages.judge(page, "unnamedPictures"))


def check_hostile(page, result):
    """Names and texts that would be code stay text; numbers and plots are those of the plain page."""
    plain = {plot: [cell["value"] for cell in pages.reader(page, "numbers", plot)]
             for plot in pages.PLOTS}
    scripts = page.evaluate("document.scripts.length")
    names = {name: HOSTILE[k % len(HOSTILE)] + str(k) * (k >= len(HOSTILE))
             for k, name in enumerate(pages.names_of(result))}
    hostile = pages.renamed(result, names)
    hostile["scenario"]["title"] = HOSTILE[1]
    hostile["detail"]["text"] = "".join(f"{text}\n" for text in HOSTILE)
    hostile["detail"]["settings"] = HOSTILE
    path = pages.make_page(pages.write(pages.file("hostile.json"), hostile), name="hostile")
    check_whole(page, "hostile names", path, pages.PLOTS)
    pages.check_equal("... none of them ran", page.evaluate("window.hacked === undefined"), True)
    pages.check_equal("... or became part of the page",
                      page.evaluate("[document.scripts.length, document.images.length,"
                                    " document.querySelectorAll('[onclick]').length]"),
                      [scripts, 0, 0])
    said = page.evaluate("document.documentElement.textContent")
    pages.check("... all can be read", [name for name in names.values() if name not in said])
    pages.check_equal("... numbers are the same",
                      {plot: [cell["value"] for cell in pages.reader(page, "numbers", plot)]
                       for plot in pages.PLOTS}, plain)


def check_without_detail(page):
    path = pages.make_page(pages.simulate("compare", "small"), name="bare")
    pages.open_page(page, path)
    pages.check("without detail: opens without errors", pages.went_wrong(page, path))
    pages.check("without detail: compares all the same",
                pages.reader(page, "emptyPlots", ["delivery", "delivery-in-time", "load"]))
    pages.check("without detail: says what is missing and how to get it",
                [f"{section}: {text[:200]}" for section in NEED_DETAIL
                 if "--detail" not in (text := pages.reader(page, "text", f"#{section}"))])


def check_privacy(page, result):
    path = pages.make_page(result, "--blur", "200 m", name="blurred")
    check_whole(page, "blurred", path, pages.PLOTS)
    pages.check_true("blurred: says by how much",
                     "200" in pages.reader(page, "text", "#map") or
                     "200" in pages.reader(page, "text", "#cautions"))
    path = pages.make_page(result, "--anonymous", name="anonymous")
    check_whole(page, "anonymous", path, pages.PLOTS)
    names = {node["name"] for node in pages.read(result)["detail"]["variants"][0]["nodes"]}
    said = page.evaluate("document.documentElement.outerHTML")
    pages.check("anonymous: names no node", [name for name in names if re.search(rf"\b{name}\b", said)])


pages.need_browser()
tab = pages.browser().new_page()
compared = pages.simulate("compare", "small", "--detail")
check_whole(tab, "compared", pages.make_page(compared), pages.PLOTS)
check_hostile(tab, pages.read(compared))
check_without_detail(tab)
check_privacy(tab, compared)
for scenario in ("small", "degrees"):
    single = pages.simulate("run", scenario, "--detail")
    check_whole(tab, f"one run of {scenario}", pages.make_page(single, name=scenario), pages.PLOTS)
pages.end()
