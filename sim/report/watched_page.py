"""A page that loads itself anew as soon as there is another one, for as long as a scene is watched."""

import hashlib

STAMP = "report-stamp.js"
"""File beside the page that tells which page is the newest. A page from disk may load a script, and nothing else."""

HOURS = 4
REST_MS = HOURS * 3_600_000
"""So long after the last new page a page rests until somebody turns to it [ms]."""
_ASKING = """\
<script>
"use strict";
(() => {
  let found = false, until = 0;
  // What is still to come keeps the room that it had on the page before, so that nothing moves below it.
  const room = (history.state || {}).room || {}, named = (part) => part.getAttribute("aria-labelledby");
  document.querySelectorAll("[data-coming]").forEach((part) => part.style.minHeight = (room[named(part)] || 0) + "px");
  const again = () => {
    document.querySelectorAll("section").forEach((part) => room[named(part)] = part.offsetHeight);
    history.replaceState({ room }, "");
    location.reload();
  };
  const ask = (last) => {
    const script = document.createElement("script");
    script.addEventListener("load", () => {
      found = true;
      if (window.newestReport !== "@") again();
      else if (Date.now() < until) setTimeout(ask, 250, script);
      // Nothing new for hours: the program may have been killed. Whoever turns to the page again has it ask again.
      else rest(script);
    });
    // Gone: the program has ended and left a page that asks no more. One that was copied never found it.
    script.addEventListener("error", () => found && again());
    script.src = "STAMP?" + Date.now();
    last.replaceWith(script);
  };
  const rest = (last) => {
    const told = document.createElement("p");
    told.setAttribute("role", "status");
    told.style = "position:fixed;left:0;right:0;bottom:0;margin:0;padding:.6rem 1rem;max-width:none;" +
      "background:#f6f0df;border-top:3px solid #7a5a00;text-align:center";
    told.textContent = "Nothing new for HOURS hours, so this page has stopped looking for a new run. " +
      "It looks again as soon as you click on it, press a key or come back to it.";
    document.body.append(told);
    const turns = ["focus", "pointerdown", "keydown"];
    const wake = () => {
      turns.forEach((turn) => removeEventListener(turn, wake));
      told.remove();
      begin(last);
    };
    turns.forEach((turn) => addEventListener(turn, wake));
  };
  const begin = (last) => {
    until = Date.now() + REST;
    ask(last);
  };
  begin(document.head.appendChild(document.createElement("script")));
})();
</script>
"""


def stamp_of(page: str) -> str:
    """Return what tells a page from others."""
    return hashlib.sha256(page.encode()).hexdigest()[:16]


def asking(page: str) -> str:
    """Return a page that looks into `STAMP` beside it now and again, and loads itself where that names another.

    After `REST_MS` without another it says that it rests, and looks again when somebody turns to it. The reader's place
    on the page is kept, as browsers do when they load a page anew.
    """
    body, end, rest = page.rpartition("</body>")
    return f"{body}{_script(stamp_of(page))}{end}{rest}"


def resting(page: str) -> str | None:
    """Return the page that an asking page was made of, or None where it is none."""
    body, end, rest = page.rpartition("</body>")
    plain = f"{body.rpartition('<script>')[0]}{end}{rest}"
    return plain if asking(plain) == page else None


def _script(stamp: str) -> str:
    return (
        _ASKING.replace("STAMP", STAMP).replace("REST", str(REST_MS)).replace("HOURS", str(HOURS)).replace("@", stamp)
    )


def stamp_file(page: str) -> str:
    """Return what the file `STAMP` holds while a page is the newest."""
    return f'window.newestReport = "{stamp_of(page)}";\n'
