// Swaps in what a form or link brings, listens for keys on the pad, and for changes of the book. Without it the page
// works all the same, with reloads.
"use strict";

const said = () => document.getElementById("said");

/** Puts a fetched page in place of this one, keeping the focus where it was. */
async function swap(response, push) {
  const text = await response.text();
  const next = new DOMParser().parseFromString(text, "text/html");
  const content = next.getElementById("content");
  if (!content) { location.assign(response.url); return; }
  const held = document.activeElement?.dataset?.id;
  const y = scrollY;
  const samePage = new URL(response.url).pathname === location.pathname;
  const open = new Set([...document.querySelectorAll("details[open] > summary")].map((s) => s.textContent));
  for (const link of next.querySelectorAll("link[rel=stylesheet]")) {
    if (!document.querySelector(`link[href="${link.getAttribute("href")}"]`)) document.head.append(document.adoptNode(link));
  }
  document.querySelector("header.top").replaceWith(document.adoptNode(next.querySelector("header.top")));
  document.getElementById("content").replaceWith(document.adoptNode(content));
  document.title = next.title;
  if (push && response.url !== location.href) history.pushState(null, "", response.url);
  if (samePage) {
    for (const summary of document.querySelectorAll("details > summary")) if (open.has(summary.textContent)) summary.parentElement.open = true;
    scrollTo(0, y);
  } else {
    scrollTo(0, 0);
  }
  const again = held && document.querySelector(`[data-id="${CSS.escape(held)}"]`);
  (again || document.getElementById("content")).focus({ preventScroll: samePage });
  const notice = document.querySelector(".refusal, .notice");
  said().textContent = notice ? notice.textContent : document.querySelector("h1")?.textContent || "";
}

async function bring(url, options, push) {
  try {
    await swap(await fetch(url, options), push);
  } catch {
    said().classList.remove("quiet");
    said().textContent = "The program does not answer. Nothing that was kept is lost; start it again and load this page.";
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.plain) return;
  event.preventDefault();
  const data = new URLSearchParams(new FormData(form));
  if (form.method === "get") bring(`${form.getAttribute("action")}?${data}`, {}, true);
  else bring(form.getAttribute("action"), { method: "POST", body: data }, true);
});

document.addEventListener("click", (event) => {
  const unit = event.target.closest("[data-unit]");
  if (unit) {
    document.cookie = `unit=${unit.dataset.unit}; SameSite=Strict; Path=/; Max-Age=31536000`;
    bring(location.href, {}, false);
  }
  if (event.target.closest("[data-print]")) print();
});

addEventListener("popstate", () => bring(location.href, {}, false));

// On the pad, a keyboard is a pad too.
const KEYS = { Enter: "accept", Backspace: "erase", ".": "point", ",": "point", "-": "sign", "'": "feet" };
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !document.querySelector(".pad")) return;
  if (event.target.closest("input, textarea, select, summary, a")) return;
  if (event.key === "Enter" && event.target.closest("button")) return;
  const id = /^[0-9]$/.test(event.key) ? `digit_${event.key}` : KEYS[event.key];
  const button = id && document.querySelector(`.pad [data-id="${id}"]`);
  if (button) { event.preventDefault(); button.click(); }
});

// Changes that come from elsewhere show without a reload, unless something is being typed.
let changed = false;
const typing = () => [...document.querySelectorAll("input[type=text], input[type=search], textarea")].some((field) => field.value !== field.defaultValue);
const show = () => { if (changed && !typing() && !document.hidden) { changed = false; bring(location.href, {}, false); } };
new EventSource("/live").addEventListener("changed", () => { changed = true; show(); });
document.addEventListener("visibilitychange", show);
