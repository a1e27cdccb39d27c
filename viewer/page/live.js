"use strict";
// What the packages that serve the page leave out: pictures are described by their frame, and a page may be enlarged.
document.querySelector("meta[name=viewport]")?.setAttribute("content", "width=device-width, initial-scale=1");
new MutationObserver(() => {
  document.querySelectorAll(".stage img:not([alt])").forEach((image) => image.setAttribute("alt", ""));
}).observe(document.body, { childList: true, subtree: true });
