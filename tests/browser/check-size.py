#!/usr/bin/env python3
"""check-size.py SPATE FOLDER - a report of 300 nodes, 3 variants and 20 replications is quick"""

import os

import pages

MOST_BYTES = 3_000_000
MOST_S = 2.0


pages.need_browser()
tab = pages.browser().new_page()
compared = pages.simulate("compare", "town", "--detail")
found = pages.read(compared)
shown = pages.make_page(compared)
pages.check_equal("as much as it has to carry",
                  [len(found["detail"]["variants"][0]["nodes"]), len(found["variants"]),
                   found["replications"]], [300, 3, 20])
size = os.path.getsize(shown)
pages.tell(f"result {os.path.getsize(compared) / 1e6:.2f} MB, page {size / 1e6:.2f} MB")
pages.check_true("the page is under 3 MB", size < MOST_BYTES, f"{size} bytes")
ready = []
for _ in range(2):
    pages.open_page(tab, shown)
    ready.append(tab.evaluate("performance.getEntriesByName('ready')[0].startTime") / 1000)
pages.tell(f"ready after {ready[0]:.2f} s; the second time after {ready[1]:.2f} s")
pages.check_true("it is ready in under 2 s", min(ready) < MOST_S * pages.SLOWNESS,
                 f"{min(ready):.2f} s, with SPATE_SLOWNESS {pages.SLOWNESS:g}")
for what, action in {"another variant": "document.querySelector('input[name=variant][value=\"1\"]').click()",
                     "another colour": "document.querySelector('input[name=colour][value=load]').click()",
                     "a step": "document.getElementById('replay-step').click()"}.items():
    took = tab.evaluate(f"""(async () => {{ const begun = performance.now(); {action};
        await new Promise(done => requestAnimationFrame(() => setTimeout(done)));
        return performance.now() - begun; }})()""")
    pages.tell(f"{what}: shown after {took:.0f} ms")
    pages.check_true(f"{what} is shown in under 1 s", took < 1000 * pages.SLOWNESS, f"{took} ms")
pages.check("nothing went wrong", pages.went_wrong(tab, shown))
pages.end()
