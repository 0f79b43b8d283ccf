// The chart is read while it is typed: the whole form is asked about, and what the chart says of itself is put in its place. Without
// this script the button "Check the chart" does the same.
"use strict";

(() => {
  const form = document.getElementById("bike-form");
  if (!form) return;
  const chart = document.getElementById("frame");
  let busy = false;
  let again = false;

  // One question at a time; what has changed meanwhile is asked next.
  const read = async () => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      const pairs = new URLSearchParams();
      for (const [name, value] of new FormData(form)) if (typeof value === "string") pairs.append(name, value);
      const response = await fetch("/bike/chart", { method: "POST", body: pairs });
      if (response.ok) {
        const found = new DOMParser().parseFromString(await response.text(), "text/html");
        for (const fresh of found.querySelectorAll("[id]")) {
          const old = document.getElementById(fresh.id);
          // What stays the same is not said again by a screen reader.
          if (old && old.outerHTML !== fresh.outerHTML) {
            old.className = fresh.className;
            old.replaceChildren(...fresh.childNodes);
          }
        }
      }
    } catch {
      // The form is sent all the same when its button is pressed.
    } finally {
      busy = false;
    }
    if (again) {
      again = false;
      await read();
    }
  };

  let rest;
  chart.addEventListener("input", () => {
    clearTimeout(rest);
    rest = setTimeout(read, 120);
  });

  // Whoever has typed is asked before the page goes.
  let typed = false;
  form.addEventListener("input", () => (typed = true));
  form.addEventListener("submit", () => (typed = false));
  addEventListener("beforeunload", (event) => {
    if (typed) event.preventDefault();
  });

  const problems = document.getElementById("problems");
  if (problems && !location.hash) problems.focus();
})();
