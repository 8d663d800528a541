#!/usr/bin/env python3
"""check-driver.py SPATE FOLDER - that the other tests of this folder would see what is wrong

A page that finds nothing wrong proves nothing unless what looks at it can see.  Each kind of fault
is made once, on a page of our own.
"""

import os
import pathlib
import time

import devtools
import pages

GOOD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>good</title>
<meta name="viewport" content="width=device-width">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>
 text {fill: currentColor}
 body {color: #222; background: #fff; font: 16px sans-serif} button {min-width: 40px; height: 30px}
 @media (prefers-color-scheme: dark) {:root {color-scheme: dark} body {color: #ddd; background: #111}}
 @media print {button {display: none}}
</style>
<p>text</p><button>go</button><button>on</button>
<main><figure id="plot-one"><svg role="img" aria-label="a line" width="200" height="50">
<text x="10" y="20">10</text><text x="60" y="20">20</text></svg></figure></main></html>"""

# Each piece put into the good page makes one function see something.
SPOILT = {
    "overflow": ['<div style="width: 2000px">wide</div>',
                 '<table><tr><td style="min-width: 900px">wide</table>'],
    "smallControls": ['<button style="height: 20px">small</button>',
                      '<input type="checkbox">', '<details><summary>more</summary></details>'],
    "contrast": ['<p style="color: #888">pale</p>',
                 '<p style="background: #333; color: #222">dark</p>',
                 '<p style="color: rgb(0 0 0 / 40%)">thin</p>',
                 '<svg role="img" aria-label="x"><text y="20" style="fill: #aaa">pale</text></svg>'],
    "unnamedPictures": ['<svg><path/></svg>', '<svg role="img"><path/></svg>',
                        '<svg role="img" aria-labelledby="nothing"></svg>', '<canvas></canvas>'],
    "spoiltText": ['<main><svg width="50" height="20"><text x="30" y="15">too long'
                   '</text></svg>',
                   '<main><svg width="90" height="20"><text x="1" y="15">one</text>'
                   '<text x="9" y="15">two</text></svg>'],
    "unprintable": ['<input value="printed">',
                    '<div style="overflow: auto; height: 20px">cut<br>off<br>here</div>',
                    '<div style="overflow-x: auto; width: 90px"><p style="width: 200px">cut</div>'],
}
ARGUMENTS = {"smallControls": [24]}

# What a page must not do, and the part of the record where it is seen.
FORBIDDEN = {
    "console": "<script>console.error('no')</script>",
    "exception": "<script>setTimeout(() => { throw new Error('nobody caught me'); })</script>",
    "policy violated": '<meta http-equiv="Content-Security-Policy" content="script-src \'none\'">'
                       "<script>1</script>",
    "request": "<script>fetch('https://192.0.2.1/').catch(() => 0)</script>",
}


def page_of(text):
    path = pages.file("own.html")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def check_record(page):
    path = page_of(GOOD)
    page.open(pages.address(path))
    pages.check("a good page leaves nothing on record", pages.went_wrong(page, path))
    for kind, piece in FORBIDDEN.items():
        path = page_of(f"<!doctype html><title>bad</title>{piece}")
        page.open(pages.address(path))
        page.wait("false", 0.1)
        found = pages.went_wrong(page, path)
        pages.check_true(f"on record: {kind}", any(one.startswith(kind) for one in found), found)


def check_judge(page):
    for function, pieces in SPOILT.items():
        arguments = ARGUMENTS.get(function, [])
        page.media("print" if function == "unprintable" else "")
        page.open(pages.address(page_of(GOOD)))
        pages.check(f"{function}: nothing on a good page",
                    pages.judge(page, function, *arguments))
        unseen = []
        for piece in pieces:
            page.open(pages.address(page_of(GOOD.replace("</html>", piece))))
            if not pages.judge(page, function, *arguments):
                unseen.append(piece)
        pages.check(f"{function}: sees what is wrong", unseen)
    page.media(dark=True)
    page.open(pages.address(page_of(GOOD)))
    pages.check("contrast: nothing on a good dark page", pages.judge(page, "contrast"))
    page.open(pages.address(page_of(GOOD.replace("</html>", '<p style="color: #444">dark'))))
    pages.check_true("contrast: sees dark on dark", pages.judge(page, "contrast"))
    page.media()


def check_hands(page):
    """Mouse and keyboard reach the page as a person's do."""
    page.open(pages.address(page_of(
        GOOD + '<input type="range" min="0" max="9" value="4">'
        "<script>window.log = []; for (const one of document.querySelectorAll('button'))"
        "  one.addEventListener('click', event => log.push(event.isTrusted + one.textContent));"
        "</script>").replace("default-src 'none'", "")))
    page.evaluate("""window.log = []; document.querySelectorAll('button').forEach(one =>
        one.addEventListener('click', event => log.push(one.textContent + event.isTrusted)))""")
    page.click("button")
    for key in ("Tab", "Space", "Enter"):
        page.press(key)
    pages.check_equal("mouse, Tab, Space and Enter", page.evaluate("log"),
                      ["gotrue", "ontrue", "ontrue"])
    page.press("Tab")
    page.press("ArrowRight")
    pages.check_equal("arrows", page.evaluate("document.querySelector('input').value"), "5")
    page.press("Tab", shift=True)
    pages.check_equal("Shift and Tab", page.evaluate("document.activeElement.textContent"), "on")


def check_limits():
    """A page that hangs, a browser that dies, and a test that takes too long end in time."""
    with devtools.Browser(limit_s=30) as started:
        page = started.new_page()
        begun = time.monotonic()
        try:
            page.evaluate("new Promise(() => 0)", limit_s=0.3)
            pages.check("a promise that is never kept", ["no error"])
        except devtools.BrowserError as error:
            pages.check_true("a promise that is never kept", time.monotonic() - begun < 5, error)
        started.until = time.monotonic() + 0.2
        try:
            page.evaluate("new Promise(() => 0)")
            pages.check("the time for all is over", ["no error"])
        except devtools.BrowserError as error:
            pages.check_true("the time for all is over", time.monotonic() - begun < 5, error)
        number, profile = started.process.pid, started.profile.name
    until = time.monotonic() + 5
    while living(number) and time.monotonic() < until:
        time.sleep(0.05)
    pages.check("nothing of the browser is left",
                living(number) + ([profile] if os.path.exists(profile) else []))


def living(group):
    """Processes of a group that still run; those that ended may wait long for someone to ask."""
    found = []
    for status in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            name, rest = status.read_text().rsplit(")", 1)
        except OSError:
            continue
        state, _, of_group = rest.split()[:3]
        if int(of_group) == group and state != "Z":
            found.append(name)
    return found


pages.need_browser()
tab = pages.browser().new_page()
tab.size(360, 740, mobile=True)
check_record(tab)
check_judge(tab)
check_hands(tab)
check_limits()
pages.end()
