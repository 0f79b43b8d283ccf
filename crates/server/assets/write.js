// The text as it reads follows what is written; without this script keeping it does the same.
"use strict";

(() => {
  const form = document.getElementById("writing");
  if (!form) return;
  const text = form.elements.text;
  let waiting = 0;
  let asked = 0;

  const look = async () => {
    const mine = ++asked;
    const response = await fetch(`/write/preview${location.search}`, { method: "POST", body: new URLSearchParams({ text: text.value }) });
    if (!response.ok || mine !== asked) return;
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    document.getElementById("preview").replaceWith(page.getElementById("preview"));
  };

  text.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(look, 150);
  });
})();
