#!/usr/bin/env python3
"""check-controls.py SPATE FOLDER - switches, the replay and the keyboard do what they say"""

import pages

DRAWN = ["#map svg", "#plot-losses-receiver", "#plot-airtime", "#plot-hops", "#replay"]


def look(page, selector):
    return pages.reader(page, "look", selector)


def choose(page, name, value):
    """Chooses a radio button as a person does: by its label, if it has one."""
    page.click(f'input[name="{name}"][value="{value}"]')


def log_of(page):
    return pages.reader(page, "text", "#replay-log")


def at(page):
    """Where the slider stands."""
    return page.evaluate("Number(document.getElementById('replay-slider').value)")


def end_of(page):
    return page.evaluate("Number(document.getElementById('replay-slider').max)")


# ---- switches

def check_variants(page, result):
    """Each variant draws map and plots anew, and going back draws the first ones again."""
    first = {drawn: look(page, drawn) for drawn in DRAWN}
    choose(page, "variant", 1)
    pages.check("another variant changes map and plots",
                [drawn for drawn in DRAWN if look(page, drawn) == first[drawn]])
    pages.check_true("... and the page names it",
                     result["variants"][1]["name"] in pages.reader(page, "text", "#map"))
    choose(page, "variant", 0)
    pages.check("the first one again is as it was",
                [drawn for drawn in DRAWN if look(page, drawn) != first[drawn]])


def check_colours(page):
    maps = {}
    for value in ("load", "loss", "delivery"):
        choose(page, "colour", value)
        maps[value] = look(page, "#map svg")
    pages.check_equal("each colouring is another map", len(set(maps.values())), 3)


# ---- the replay

def check_steps(page):
    start = at(page)
    logs = [log_of(page)]
    for _ in range(3):
        page.click("#replay-step")
        logs.append(log_of(page))
    pages.check_equal("each step tells something", len(set(logs)), 4)
    reached = at(page)
    pages.check_true("steps move the slider", reached > start, f"{start} to {reached}")
    page.click("#replay-back")
    pages.check_equal("back is the step before", log_of(page), logs[2])
    page.evaluate("document.getElementById('replay-slider').focus()")
    page.press("End")
    pages.check_equal("the slider goes to the end", at(page), end_of(page))
    page.press("Home")
    pages.check_equal("... and to the start, where nothing is told yet", log_of(page), logs[0])


def check_play(page):
    page.press("Home")
    page.click("#replay-play")
    begun = page.wait(f"Number(document.getElementById('replay-slider').value) > {at(page)}", 5)
    pages.check_true("play moves on by itself", begun)
    page.click("#replay-play")
    stopped = at(page)
    page.wait("false", 1.2)  # longer than a step
    pages.check_equal("pause stops it", at(page), stopped)


def whole_log(page):
    """What the log says from the first step to the last."""
    page.evaluate("document.getElementById('replay-slider').focus()")
    page.press("Home")
    said = [log_of(page)]
    while at(page) < end_of(page):
        page.press("ArrowRight")
        said.append(log_of(page))
    return said


def check_log(page, result):
    """Step by step the log tells who sends, and what became of it at whom."""
    detail = result["detail"]["variants"][0]
    replay = next(one for one in detail["replay"] if one)
    names = [node["name"] for node in detail["nodes"]]
    node_of = [row[0] for row in detail["radios"]["rows"]]
    said = whole_log(page)
    columns = replay["frames"]["columns"]
    frames = [dict(zip(columns, row)) for row in replay["frames"]["rows"]]
    unnamed = [names[node_of[frame["radio"]]] for frame in frames
               if sum(names[node_of[frame["radio"]]] in text and "hop" in text
                      for text in said) < 1]
    pages.check("the log names each sender", unnamed)
    pages.check_true("... and has a step for the start and the end of each frame",
                     len(said) >= 2 * len(frames), f"{len(said)} steps, {len(frames)} frames")
    pages.check("... and who got it", [names[row[0]] for row in replay["delivered"]["rows"]
                                       if not any(names[row[0]] in text for text in said)])
    whole = "\n".join(said)
    losses = {"lost_collision": "collision", "lost_busy": "busy", "lost_sending": "while sending"}
    pages.check("... and why others lost it",
                [column for column, word in losses.items()
                 if any(frame[column] for frame in frames) and word not in whole])
    pages.check_true("... and which bridge held it back",
                     "gatehouse" in whole and "holds it back" in whole, whole)


def choose_message(page, value):
    page.evaluate(f"""(() => {{ const list = document.getElementById('replay-message');
        list.value = {value!r}; list.dispatchEvent(new Event('input', {{bubbles: true}}));
        list.dispatchEvent(new Event('change', {{bubbles: true}})); }})()""")


def check_messages(page, result):
    """Each message that can be chosen is replayed."""
    wanted = len(result["detail"]["messages"])
    options = page.evaluate("[...document.getElementById('replay-message').options]"
                            ".map(option => option.value)")
    pages.check_equal("all messages can be chosen", len(options), wanted)
    told = set()
    for value in options:
        choose_message(page, value)
        page.evaluate("document.getElementById('replay-slider').focus()")
        page.press("End")
        told.add(log_of(page))
    pages.check_equal("... and each is another story", len(told), wanted)


def check_tries(page, result):
    """A further try and an acknowledgement are called so, and none of them a digest."""
    replays = result["detail"]["variants"][0]["replay"]
    tried = next(i for i, replay in enumerate(replays) if replay and 2 in replay.get("attempts", []))
    choose_message(page, str(tried))
    whole = "\n".join(whole_log(page))
    origin = result["detail"]["messages"][tried]["origin"]
    pages.check("tries and acknowledgements are told apart",
                [words for words in ("it again, try 2", "its acknowledgement", f"{origin} has its answer")
                 if words not in whole])
    pages.check_true("... and are no digests", "digest" not in whole, whole)
    choose_message(page, "0")


# ---- the keyboard alone

FOCUSED = """(() => {
    const focused = document.activeElement;
    if (!focused || focused === document.body) return null;
    window.order ??= [...document.querySelectorAll('*')];
    return {index: order.indexOf(focused), tag: focused.tagName.toLowerCase(),
            name: focused.id || focused.name || focused.textContent.trim().slice(0, 40)};
})()"""

# Of radio buttons of one name only the chosen one, or else the first, is a stop.
STOPS = """[...document.querySelectorAll('button, input, select, textarea, summary, a[href], [tabindex]')]
    .filter(one => one.tabIndex >= 0 && !one.disabled && one.checkVisibility())
    .filter(one => one.type !== 'radio' || one.checked)
    .map(one => (window.order ??= [...document.querySelectorAll('*')]).indexOf(one))"""


def check_tab(page):
    """Tab reaches every control, in the order of the page, and each shows that it has the focus."""
    wanted = page.evaluate(STOPS)
    page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
    page.evaluate("document.body.tabIndex = -1, document.body.focus(), "
                  "document.body.removeAttribute('tabindex')")
    reached, hidden = [], []
    for _ in range(len(wanted) + 5):
        page.press("Tab")
        stop = page.evaluate(FOCUSED)
        if stop is None:
            break
        reached.append(stop["index"])
        if not shows_focus(page):
            hidden.append(f"{stop['tag']} {stop['name']}")
    pages.check_equal("Tab reaches every control, in their order", reached, wanted)
    pages.check("each shows that it has the focus", hidden)


def shows_focus(page):
    """Whether the focused element, or its label, looks otherwise than without the focus."""
    clip = page.evaluate("""(() => {
        const focused = window.focused = document.activeElement;
        focused.scrollIntoView({block: 'center', behavior: 'instant'});
        const boxes = [focused, ...(focused.labels ?? [])].map(one => one.getBoundingClientRect());
        const left = Math.min(...boxes.map(box => box.left)) - 6;
        const top = Math.min(...boxes.map(box => box.top)) - 6;
        return [left + scrollX, top + scrollY,
                Math.max(...boxes.map(box => box.right)) + 6 - left,
                Math.max(...boxes.map(box => box.bottom)) + 6 - top];
    })()""")
    clip[2] = min(clip[2], 400)
    clip[3] = min(clip[3], 200)
    pictures = []
    for action in ("blur()", "focus({focusVisible: true, preventScroll: true})"):
        pictures.append(page.picture(clip))
        page.evaluate(f"window.focused.{action}")
    return pictures[0] != pictures[1]


def check_keys(page):
    """What the mouse does, keys do."""
    page.evaluate("document.querySelector('input[name=variant]:checked').focus()")
    before = look(page, "#map svg")
    page.press("ArrowDown")
    pages.check_true("an arrow chooses the next variant", look(page, "#map svg") != before)
    page.press("ArrowUp")
    page.evaluate("document.getElementById('replay-slider').focus()")
    page.press("Home")
    page.press("ArrowRight")
    pages.check_true("an arrow moves the slider", at(page) > 0)
    told = [log_of(page)]
    page.evaluate("document.getElementById('replay-step').focus()")
    for key in ("Enter", "Space"):
        page.press(key)
        told.append(log_of(page))
    pages.check_equal("Enter and Space press a button", len(set(told)), 3)
    page.evaluate("document.querySelector('#comparison summary').focus()")
    opened = "document.querySelector('#comparison summary').parentElement.open"
    before = page.evaluate(opened)
    page.press("Enter")
    pages.check_equal("Enter opens a table of numbers", page.evaluate(opened), not before)


def check_still(page, path):
    """Where motion is not wanted, play goes by steps, without anything that glides."""
    page.media(still=True)
    pages.open_page(page, path)
    page.click("#replay-play")
    page.wait("Number(document.getElementById('replay-slider').value) > 0", 5)
    moving = page.evaluate("document.getAnimations().length")
    pages.check_equal("reduced motion: nothing is animated", moving, 0)
    # What a script moves is no animation to the browser: between two steps all has to stand still.
    before = look(page, "#replay svg"), at(page)
    page.wait("false", 0.3)
    after = look(page, "#replay svg"), at(page)
    pages.check_true("reduced motion: nothing moves from one step to the next",
                     before[1] != after[1] or before == after)
    page.click("#replay-play")
    page.media()


def check_zoom(page):
    """Closer by, the bar of the map stands for fewer metres."""
    bar = """(() => { const text = [...document.querySelectorAll('#map svg.stage text')]
        .map(one => /^([0-9.]+) (k?m)$/.exec(one.textContent)).find(Boolean);
        return text && Number(text[1]) * (text[2] === 'km' ? 1000 : 1); })()"""
    far = page.evaluate(bar)
    for _ in range(3):
        page.evaluate("document.querySelector('#map button[aria-label=Closer]').click()")
    page.wait(f"{bar} < {far / 3}", 5 * pages.SLOWNESS)
    near = page.evaluate(bar)
    pages.check_true("the scale of the map follows the zoom", near < far / 3, f"{far} m, {near} m")
    page.evaluate("document.querySelector('#map button[aria-label=\"The whole map\"]').click()")


pages.need_browser()
tab = pages.browser().new_page()
tab.size(1200, 900)
compared = pages.simulate("compare", "small", "--detail")
shown = pages.make_page(compared)
found = pages.read(compared)
pages.open_page(tab, shown)
check_variants(tab, found)
check_colours(tab)
check_steps(tab)
check_play(tab)
check_log(tab, found)
check_messages(tab, found)
check_tries(tab, found)
check_keys(tab)
check_zoom(tab)
pages.open_page(tab, shown)
check_tab(tab)
check_still(tab, shown)
pages.check("after all that: no errors", pages.went_wrong(tab, shown))
pages.end()
