#!/usr/bin/env python3
"""check-looks.py SPATE FOLDER [OUTPUT] - the report on a phone, on a desk, in the dark and on paper

Pictures of the page go to OUTPUT, for people to look at.
"""

import os
import re

import pages

PHONE = (360, 740)
DESK = (1280, 900)
# A4, 210 mm wide, less margins of 10 mm, at 96 px an inch.
PAPER_PX = 718
LEAST_TARGET_PX = 24


def keep(page, name):
    """Keeps a picture of the whole page."""
    if pages.OUTPUT:
        with open(os.path.join(pages.OUTPUT, f"{name}.png"), "wb") as file:
            file.write(page.whole_picture())


def check_screen(page, what, path, size, dark):
    page.size(*size, mobile=size is PHONE)
    page.media(dark=dark)
    pages.open_page(page, path)
    pages.check(f"{what}: nothing stands out sideways", pages.judge(page, "overflow"))
    pages.check(f"{what}: controls are large enough",
                pages.judge(page, "smallControls", LEAST_TARGET_PX))
    pages.check(f"{what}: no writing is cut off or lies on other writing",
                pages.judge(page, "spoiltText"))
    open_all(page)
    pages.check(f"{what}: nor with everything opened", pages.judge(page, "overflow"))
    pages.check(f"{what}: no table is wider than the screen", pages.judge(page, "widerThanScreen"))
    pages.check(f"{what}: no column says the same in every row",
                pages.judge(page, "uselessColumns"))
    pages.check(f"{what}: text can be told from its ground", pages.judge(page, "contrast"))
    pages.open_page(page, path)
    keep(page, what)


def check_long_names(page, result):
    """Names of 64 letters, as long as they may be, without a place to break them."""
    names = {name: f"{name.replace('-', '')}x{'m' * 63}"[:60] + f"{k:04}"
             for k, name in enumerate(pages.names_of(result))}
    path = pages.make_page(pages.write(pages.file("long.json"), pages.renamed(result, names)),
                           name="long")
    for what, size in (("phone", PHONE), ("desk", DESK)):
        page.size(*size, mobile=size is PHONE)
        pages.open_page(page, path)
        open_all(page)
        pages.check(f"{what}, long names: nothing stands out sideways",
                    pages.judge(page, "overflow"))
        pages.check(f"{what}, long names: no writing is cut off or lies on other writing",
                    pages.judge(page, "spoiltText"))
        keep(page, f"{what}-long-names")
    page.size(PAPER_PX, 1000)
    page.media("print")
    pages.check("paper, long names: nothing is cut off", pages.judge(page, "unprintable"))
    page.media()


def check_small_figures(page):
    """A mesh that hardly sends: the figures of its axes are long, and bear many zeros."""
    result = pages.simulate("compare", "small", "--detail", "--set", "run.duration=8 h",
                            "--set", "bearers.valley.spreading-factor=7",
                            "--set", "traffic.readings.every=40 min",
                            "--set", "traffic.talk.mean-interval=2 h")
    path = pages.make_page(result, name="quiet")
    for what, size in (("phone", PHONE), ("desk", DESK)):
        page.size(*size, mobile=size is PHONE)
        pages.open_page(page, path)
        pages.check(f"{what}, small figures: no writing is cut off or lies on other writing",
                    pages.judge(page, "spoiltText"))
        keep(page, f"{what}-small-figures")


def open_all(page):
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")


def check_paper(page, path):
    page.size(PAPER_PX, 1000)
    page.media("print")
    pages.open_page(page, path)
    pages.check("paper: no controls, and nothing is cut off", pages.judge(page, "unprintable"))
    pages.check("paper: no writing is cut off", pages.judge(page, "spoiltText"))
    pages.check("paper: text can be told from its ground", pages.judge(page, "contrast"))
    page.media(dark=True)
    printed = page.pdf()
    sheets = len(re.findall(rb"/Type\s*/Page\b", printed))
    pages.check_true("paper: some sheets, not a roll", 2 <= sheets <= 20, f"{sheets} sheets")
    page.media("print", dark=True)
    pages.check("paper: dark text on white where screens are dark", pages.judge(page, "contrast"))
    keep(page, "paper")
    page.media()


pages.need_browser()
tab = pages.browser().new_page()
compared = pages.simulate("compare", "small", "--detail")
shown = pages.make_page(compared)
for is_dark in (False, True):
    shade = "dark" if is_dark else "light"
    check_screen(tab, f"phone-{shade}", shown, PHONE, is_dark)
    check_screen(tab, f"desk-{shade}", shown, DESK, is_dark)
check_paper(tab, shown)
check_long_names(tab, pages.read(compared))
check_small_figures(tab)
pages.end()
