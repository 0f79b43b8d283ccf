// Choosing follows the words as they are typed; without this script the form's button does the same.
"use strict";

(() => {
  const form = document.getElementById("search");
  const found = document.getElementById("found");
  if (!form || !found) return;
  const field = form.querySelector("input[type=search]");
  let wanted = "";
  // What is ticked stays ticked while other words hide it.
  const ticked = new Set();

  const address = () => {
    const pairs = new URLSearchParams();
    for (const [key, value] of new FormData(form)) if (value.trim() !== "") pairs.append(key, value);
    return `?${pairs}`;
  };

  const look = async () => {
    const asked = (wanted = address());
    const response = await fetch(`/choose${asked}`);
    if (!response.ok || asked !== wanted) return;
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    found.replaceChildren(...page.getElementById("found").childNodes);
    for (const box of found.querySelectorAll("[name=with]")) box.checked = ticked.has(box.value);
    history.replaceState(null, "", asked);
  };

  found.addEventListener("change", (event) => {
    if (event.target.checked) ticked.add(event.target.value);
    else ticked.delete(event.target.value);
  });
  found.addEventListener("submit", (event) => {
    const shown = new Set([...event.target.querySelectorAll("[type=checkbox]")].map((box) => box.value));
    for (const value of ticked) {
      if (shown.has(value)) continue;
      const hidden = document.createElement("input");
      Object.assign(hidden, { type: "hidden", name: "with", value });
      event.target.append(hidden);
    }
  });
  field.addEventListener("input", look);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    look();
  });
})();
