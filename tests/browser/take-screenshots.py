#!/usr/bin/env python3
"""take-screenshots.py SPATE FOLDER OUTPUT - pictures of the report of Tarn Hollow, for docs/

report-desktop.png: the head of the page; report-phone.png: a message on its way.
"""

import os

import pages

DESKTOP = (1200, 1300)
PHONE = (360, 740)
MOST_STEPS = 200


def keep(page, name):
    with open(os.path.join(pages.OUTPUT, name), "wb") as file:
        file.write(page.picture())


def show_replay(page):
    """Goes on to the end of a late frame that some had for the first time, and some lost."""
    page.click('input[name="variant"][value="1"]')
    page.evaluate("""(() => { const list = document.getElementById('replay-message');
        list.selectedIndex = [...list.options].findIndex(one => /^talk.*missed/.test(one.text));
        list.dispatchEvent(new Event('change', {bubbles: true})); })()""")
    page.evaluate("document.getElementById('replay-slider').focus()")
    for _ in range(MOST_STEPS):
        page.press("ArrowRight")
        said = pages.reader(page, "text", "#replay-log")
        if "new to" in said and "and" in said and "lost" in said:
            break
    page.evaluate("document.activeElement.blur();"
                  "document.getElementById('replay').scrollIntoView({behavior: 'instant'})")


# As the README's command makes it: spate compare ... --report FILE --blur "200 m".
path = pages.file("page.html")
pages.spate("compare", os.path.join(pages.FOLDER, "tarn-hollow.yaml"), "--quiet", "--output",
            pages.file("measures.txt"), "--report", path, "--blur", "200 m")
with pages.devtools.Browser(limit_s=60) as browser:
    tab = browser.new_page()
    tab.size(*DESKTOP)
    pages.open_page(tab, path)
    keep(tab, "report-desktop.png")
    tab.size(*PHONE, scale=2, mobile=True)
    pages.open_page(tab, path)
    show_replay(tab)
    keep(tab, "report-phone.png")
