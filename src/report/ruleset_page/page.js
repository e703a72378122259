"use strict";
// Without this script the page is whole; with it, the rules can be searched and printed tables open.
const search = document.querySelector(".search");
const input = document.getElementById("search");
const found = document.getElementById("found");
const rules = Array.from(document.querySelectorAll("#rules article"), (rule) => ({
  rule,
  text: rule.textContent.toLowerCase(),
}));
const topics = Array.from(document.querySelectorAll("#rules .topic"));
const show = () => {
  const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const { rule, text } of rules) {
    const fits = words.every((word) => text.includes(word));
    rule.hidden = !fits;
    count += fits ? 1 : 0;
  }
  for (const topic of topics) {
    topic.hidden = words.length > 0 && !topic.querySelector("article:not([hidden])");
  }
  found.textContent = words.length ? `${count} of ${rules.length} rules` : "";
};
search.hidden = false;
input.addEventListener("input", show);
input.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && input.value) document.getElementById("rules").scrollIntoView();
});
// A link into a closed table opens it.
const reveal = () => {
  const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (target instanceof HTMLDetailsElement) target.open = true;
};
addEventListener("hashchange", reveal);
reveal();
addEventListener("beforeprint", () => {
  for (const table of document.querySelectorAll("details.table")) table.open = true;
});
