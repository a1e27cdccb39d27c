"""A page that loads itself anew as soon as there is another one, for as long as a scene is watched."""

import hashlib

STAMP = "report-stamp.js"
"""File beside the page that tells which page is the newest. A page from disk may load a script, and nothing else."""

_ASKING = """\
<script>
"use strict";
(() => {
  let found = false;
  const ask = (last) => {
    const script = document.createElement("script");
    script.addEventListener("load", () => {
      found = true;
      if (window.newestReport === "@") setTimeout(ask, 500, script);
      else location.reload();
    });
    // Gone: the program has ended and left a page that asks no more. One that was copied never found it.
    script.addEventListener("error", () => found && location.reload());
    script.src = "STAMP?" + Date.now();
    last.replaceWith(script);
  };
  ask(document.head.appendChild(document.createElement("script")));
})();
</script>
"""


def stamp_of(page: str) -> str:
    """Return what tells a page from others."""
    return hashlib.sha256(page.encode()).hexdigest()[:16]


def asking(page: str) -> str:
    """Return a page that looks twice a second into `STAMP` beside it, and loads itself where that names another.

    The reader's place on the page is kept, as browsers do when they load a page anew.
    """
    body, end, rest = page.rpartition("</body>")
    script = _ASKING.replace("STAMP", STAMP).replace("@", stamp_of(page))
    return f"{body}{script}{end}{rest}"


def stamp_file(page: str) -> str:
    """Return what the file `STAMP` holds while a page is the newest."""
    return f'window.newestReport = "{stamp_of(page)}";\n'
