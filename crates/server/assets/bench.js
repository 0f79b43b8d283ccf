// The bench follows what is changed on it: a moved slider or a typed number asks for the parts of the page that change, and the
// address follows, so that it can be copied and gone back to. Without this script the form's button does the same.
"use strict";

(() => {
  const form = document.getElementById("bench");
  if (!form) return;
  const wrong = document.getElementById("wrong");
  let busy = false;
  let again = false;

  // Only what says something goes into the address.
  const query = () => {
    const pairs = new URLSearchParams();
    for (const [key, value] of new FormData(form)) if (value.trim() !== "") pairs.append(key, value);
    return pairs.toString();
  };

  const place = (html, ids) => {
    const found = new DOMParser().parseFromString(html, "text/html");
    for (const id of ids) {
      const fresh = found.getElementById(id);
      const old = document.getElementById(id);
      if (fresh && old) old.replaceWith(fresh);
    }
  };

  // The drawing comes for the room there is; where that changes, the page is asked anew.
  const wide = matchMedia("(min-width:620px)");

  // One question at a time; what has changed meanwhile is asked next.
  const ask = async (path, ids) => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      const asked = query();
      const response = await fetch(`${path}?${asked}&room=${wide.matches ? "wide" : "narrow"}`);
      const text = await response.text();
      if (response.ok) {
        wrong.hidden = true;
        place(text, ids);
      } else if (response.headers.get("content-type").startsWith("text/plain")) {
        wrong.textContent = text;
        wrong.hidden = false;
      }
    } catch {
      wrong.textContent = "The program does not answer. Is it still running?";
      wrong.hidden = false;
    } finally {
      busy = false;
    }
    if (again) {
      again = false;
      await ask(path, ids);
    }
  };

  const follow = () => ask("/bench/live", ["top", "figures"]);

  // The whole answer, extras and alternatives included, when the hand has come to rest.
  const settle = async () => {
    const asked = query();
    if (`?${asked}` !== location.search) history.pushState(null, "", `?${asked}`);
    await follow();
    const response = await fetch(`/bench?${asked}`);
    if (response.ok && asked === query()) {
      const html = await response.text();
      const open = [...document.querySelectorAll("details")].map((it) => it.open);
      place(html, ["top", "figures", "rest"]);
      const now = document.querySelectorAll("details");
      if (now.length === open.length) now.forEach((it, at) => (it.open = open[at]));
    }
  };

  for (const slide of form.querySelectorAll(".slide")) {
    const field = document.getElementById(slide.dataset.of);
    const follow_field = () => {
      const number = Number.parseFloat(field.value);
      if (Number.isFinite(number)) slide.value = number;
    };
    slide.hidden = false;
    follow_field();
    slide.addEventListener("input", () => {
      const unit = slide.dataset.unit;
      field.value = unit ? `${slide.value} ${unit}` : slide.value;
      follow();
    });
    field.addEventListener("input", () => {
      follow_field();
      follow();
    });
  }
  wide.addEventListener("change", settle);
  form.addEventListener("change", settle);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    settle();
  });
  // What is behind a number shows while the pointer rests on it, as it does when its button is pressed.
  for (const [event, open] of [["mouseover", true], ["mouseout", false]]) {
    document.addEventListener(event, ({ target, relatedTarget }) => {
      const cell = target.closest?.("td:has(> .ask)");
      if (!cell || cell.contains(relatedTarget)) return;
      cell.querySelector(".behind").togglePopover({ force: open, source: cell.querySelector(".ask") });
    });
  }
  // Back and forward: the address is the state.
  addEventListener("popstate", () => location.reload());
})();
