// The bench follows what is changed on it: a moved slider or a typed number asks for the parts of the page that change, and the
// address follows, so that it can be copied and gone back to. Without this script the form's button does the same.
"use strict";

(() => {
  const form = document.getElementById("bench");
  if (!form) return;
  const main = document.getElementById("main");
  const wrong = document.getElementById("wrong");
  const said = document.getElementById("said");
  const QUICK = { path: "/bench/live", parts: ["top", "moves", "clears"] };
  const WHOLE = { path: "/bench", parts: ["top", "list", "moves", "extras", "clears", "rest", "block"] };
  const NEXT = "\f";
  // The drawing comes for the room there is; where that changes, the page is asked anew.
  const wide = matchMedia("(min-width:620px)");
  const wanted = new Set();
  let under_way = null;
  let shown = location.search;

  // Only what says something goes into the address.
  const query = () => {
    const pairs = new URLSearchParams();
    for (const [key, value] of new FormData(form)) if (value.trim() !== "") pairs.append(key, value);
    return pairs.toString();
  };

  // Makes an element what the fresh one is by changing only what differs: the rest keeps its focus and is not laid out again.
  const match = (old, fresh) => {
    if (old.isEqualNode(fresh)) return;
    if (old.nodeName !== fresh.nodeName || old.childNodes.length !== fresh.childNodes.length) {
      old.replaceWith(fresh);
    } else if (old.nodeType !== Node.ELEMENT_NODE) {
      old.data = fresh.data;
    } else {
      for (const name of old.getAttributeNames()) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
      for (const name of fresh.getAttributeNames()) {
        const value = fresh.getAttribute(name);
        if (old.getAttribute(name) !== value) old.setAttribute(name, value);
      }
      for (let child = old.firstChild, news = fresh.firstChild; child; ) {
        const next = [child.nextSibling, news.nextSibling];
        match(child, news);
        [child, news] = next;
      }
    }
  };

  // What was unfolded stays so. A quick answer leaves out what is folded: until the whole one comes, it is remembered.
  const unfolded = new Map();
  const folds = (part) => [...part.querySelectorAll("details")];

  const place = (html, parts) => {
    // A template takes half as long to read as a document, and as little of it runs or is fetched.
    const found = document.createElement("template");
    found.innerHTML = html;
    for (const id of parts) {
      const [old, fresh] = [document.getElementById(id), found.content.getElementById(id)];
      if (!unfolded.has(id)) unfolded.set(id, folds(old).map((fold) => fold.open));
      const open = unfolded.get(id);
      const now = folds(fresh);
      if (now.length === open.length) {
        now.forEach((fold, at) => (fold.open = open[at]));
        unfolded.delete(id);
      }
      match(old, fresh);
    }
  };

  // A quick answer comes in pieces, one for each part: a piece that is what it was has nothing new to place.
  const pieces = new Map();
  const place_pieces = (found) => {
    // A name may have the sign between two pieces in it.
    if (found.length !== QUICK.parts.length) {
      pieces.clear();
      return place(found.join(""), QUICK.parts);
    }
    for (const [at, id] of QUICK.parts.entries()) {
      if (pieces.get(id) === found[at]) continue;
      place(found[at], [id]);
      pieces.set(id, found[at]);
    }
  };

  const refuse = (words) => {
    wrong.textContent = words;
    wrong.hidden = false;
  };

  const by_request = async (what, question, signal) => {
    const response = await fetch(`${what.path}?${question}`, { signal });
    const text = await response.text();
    const in_words = response.headers.get("content-type").startsWith("text/plain");
    if (!response.ok) return { words: in_words ? text : "" };
    return { page: what === QUICK ? text.split(NEXT) : text };
  };

  // A browser takes longer for a request than the program for its answer: what is asked at every movement of a hand is asked on a
  // line that stays open. While there is none, a request does.
  let line = null;
  // What was said on it last: a piece that is what it was comes empty.
  let heard = [];
  const on_line = (question) => {
    if (line?.readyState !== WebSocket.OPEN) {
      if (line?.readyState !== WebSocket.CONNECTING) {
        line = new WebSocket(`${location.origin.replace("http", "ws")}/bench/line`);
        heard = [];
      }
      return null;
    }
    return new Promise((resolve) => {
      line.onmessage = ({ data }) => {
        const [status, text] = [data.slice(0, data.indexOf("\n")), data.slice(data.indexOf("\n") + 1)];
        if (status !== "200") return resolve({ words: text });
        heard = text.split(NEXT).map((piece, at) => piece || heard[at]);
        resolve({ page: heard });
      };
      line.onclose = () => resolve(null);
      line.send(question);
    });
  };

  const answer = async (what, signal) => {
    try {
      const room = what === QUICK ? `&room=${wide.matches ? "wide" : "narrow"}` : "";
      const question = query() + room;
      const { page, words } = (what === QUICK && (await on_line(question))) || (await by_request(what, question, signal));
      if (page === undefined) {
        if (words) refuse(words);
        return;
      }
      wrong.hidden = true;
      if (what === QUICK) {
        place_pieces(page);
      } else {
        pieces.clear();
        place(page, what.parts);
      }
    } catch {
      if (!signal.aborted) refuse("The program does not answer. Is it still running?");
    }
  };

  // One question at a time; what has changed meanwhile is asked next, and nobody waits for a whole answer to what is no longer so.
  const ask = async (what) => {
    wanted.add(what);
    if (under_way) {
      if (under_way.what === WHOLE) under_way.stop.abort();
      return;
    }
    main.setAttribute("aria-busy", "true");
    while (wanted.size > 0) {
      under_way = { what: wanted.has(QUICK) ? QUICK : WHOLE, stop: new AbortController() };
      wanted.delete(under_way.what);
      await answer(under_way.what, under_way.stop.signal);
      if (under_way.stop.signal.aborted) wanted.add(WHOLE);
    }
    under_way = null;
    main.setAttribute("aria-busy", "false");
    const verdict = main.querySelector("h1").textContent;
    if (said.textContent !== verdict) said.textContent = verdict;
  };

  // Where the hand came to rest is a step to go back to; what it passed on the way is not.
  const settle = () => {
    const address = `?${query()}`;
    if (address !== location.search) {
      shown = address;
      if (under_way?.what === WHOLE || wanted.has(WHOLE)) history.replaceState(null, "", address);
      else history.pushState(null, "", address);
    }
    ask(WHOLE);
  };

  for (const slide of form.querySelectorAll(".slide")) {
    const field = document.getElementById(slide.dataset.of);
    const follow_field = () => {
      const number = Number.parseFloat(field.value);
      slide.value = Number.isFinite(number) ? number : slide.defaultValue;
    };
    slide.hidden = false;
    follow_field();
    slide.addEventListener("input", () => {
      const unit = slide.dataset.unit;
      field.value = unit ? `${slide.value} ${unit}` : slide.value;
      ask(QUICK);
    });
    field.addEventListener("input", () => {
      follow_field();
      ask(QUICK);
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
  // Back and forward: the address is the state. A step to another place on the page is none.
  addEventListener("popstate", () => {
    if (location.search !== shown) location.reload();
  });
})();
