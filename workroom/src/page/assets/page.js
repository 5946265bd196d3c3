// Swaps in what forms and changes of the book bring, one after the other, and keeps the focus where it was. Without it
// the page works all the same, with reloads.
"use strict";

document.documentElement.classList.add("live");
const said = () => document.getElementById("said");
const content = () => document.getElementById("content");

/** What a control is known by when the page around it is new. */
const nameOf = (el) => el?.dataset?.id || el?.id || el?.getAttribute?.("href") || el?.name || "";
const alike = (name) => [...document.querySelectorAll("a, button, input, textarea, summary")].filter((el) => nameOf(el) === name);

/** Puts a fetched page in place of this one. */
async function swap(response, push) {
  const text = await response.text();
  const next = new DOMParser().parseFromString(text, "text/html");
  const fresh = next.getElementById("content");
  if (!fresh) { location.assign(response.url); return; }
  // A refusal, or a slip at the pad, comes under the address that the form was sent to: it is no page to come back to.
  const kept = ["/act", "/ask", "/unit", "/take-in", "/photo", "/workroom/invite", "/workroom/confirm", "/check", "/check/mend"].includes(new URL(response.url).pathname);
  const samePage = fresh.dataset.at === content().dataset.at;
  const held = document.activeElement;
  const name = nameOf(held);
  const nth = name ? alike(name).indexOf(held) : -1;
  const y = scrollY;
  const open = new Set([...document.querySelectorAll("details[open] > summary")].map((s) => s.textContent));
  for (const link of next.querySelectorAll("link[rel=stylesheet]")) {
    const sheet = `link[href="${link.getAttribute("href")}"]`;
    if (!document.querySelector(sheet)) document.querySelector("link[rel=stylesheet]").before(document.adoptNode(link));
  }
  const light = next.documentElement.dataset.light;
  if (light) document.documentElement.dataset.light = light;
  else delete document.documentElement.dataset.light;
  document.querySelector("header.top").replaceWith(document.adoptNode(next.querySelector("header.top")));
  content().replaceWith(document.adoptNode(fresh));
  document.title = next.title;
  if (push && !kept && response.url !== location.href) history.pushState(null, "", response.url);
  if (samePage) {
    for (const summary of document.querySelectorAll("details > summary")) if (open.has(summary.textContent)) summary.parentElement.open = true;
    scrollTo(0, y);
  } else {
    scrollTo(0, 0);
  }
  const again = nth >= 0 && alike(name);
  const to = (again && (again[nth] || again[0])) || (held !== document.body && content());
  if (to) to.focus({ preventScroll: samePage });
  if (to?.type === "text") to.setSelectionRange(to.value.length, to.value.length);
  const notice = document.querySelector(".refusal, #slip, .notice");
  said().classList.add("quiet");
  said().textContent = notice ? notice.textContent : document.querySelector("h1")?.textContent || "";
}

// One after the other: two keys pressed fast arrive in the order they were pressed.
let last = Promise.resolve();
function bring(url, options, push) {
  last = last.then(async () => {
    const slow = setTimeout(() => { document.body.setAttribute("aria-busy", "true"); said().textContent = "Working it out."; }, 250);
    try {
      await swap(await fetch(url, options), push);
    } catch {
      said().classList.remove("quiet");
      said().textContent = "The program does not answer. Nothing that was kept is lost; start it again and load this page.";
    }
    clearTimeout(slow);
    document.body.removeAttribute("aria-busy");
  });
  return last;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.plain) return;
  event.preventDefault();
  const data = new URLSearchParams(new FormData(form, event.submitter));
  const to = form.getAttribute("action");
  if (form.method === "get") bring(`${to}?${data}`, {}, true);
  else bring(to, { method: "POST", body: data }, true);
});

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) print();
  // Sheets are worked out while the page that asked for them stays, with a sign that work is being done.
  const link = event.target.closest("a[href^='/house/'][href*='/sheets/']");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey && event.button === 0) {
    event.preventDefault();
    bring(link.href, {}, true);
  }
});

addEventListener("popstate", () => bring(location.href, {}, false));

// Digits from a keyboard go to the field of the pad, wherever the focus is.
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !/^[0-9-]$/.test(event.key)) return;
  if (event.target.closest("input, textarea, select")) return;
  document.querySelector(".pad [data-id=reading]")?.focus();
});

// A paper note: Enter leads down its column, Shift and Enter up; behind the last row waits the button. Beside what is typed
// comes what it was taken as; a field that is typed in is never touched.
document.addEventListener("keydown", (event) => {
  const field = event.target.closest?.("form.note input[data-column]");
  if (!field || event.key !== "Enter" || event.isComposing) return;
  event.preventDefault();
  const column = [...field.form.querySelectorAll(`input[data-column="${field.dataset.column}"]`)].filter((each) => each.checkVisibility());
  const to = column[column.indexOf(field) + (event.shiftKey ? -1 : 1)] || (event.shiftKey ? field : field.form.querySelector("[data-id=note_keep]"));
  to.focus();
  to.select?.();
});
document.addEventListener("change", (event) => {
  const form = event.target.closest?.("form.note");
  if (!form) return;
  last = last.then(async () => {
    try {
      const data = new URLSearchParams(new FormData(form));
      data.set("do", "look");
      const fresh = new DOMParser().parseFromString(await (await fetch(form.getAttribute("action"), { method: "POST", body: data })).text(), "text/html");
      for (const old of form.querySelectorAll("[data-fresh]")) {
        const now = fresh.getElementById(old.id);
        if (now) old.replaceChildren(...now.childNodes);
      }
      for (const row of form.querySelectorAll("tr[id]")) row.className = fresh.getElementById(row.id)?.className || "";
      for (const field of form.querySelectorAll("input[data-column]")) {
        if (fresh.querySelector(`input[name="${field.name}"]`)?.getAttribute("aria-invalid")) field.setAttribute("aria-invalid", "true");
        else field.removeAttribute("aria-invalid");
      }
    } catch {
      said().classList.remove("quiet");
      said().textContent = "The program does not answer. What is typed here is still in this page; start the program again and press the button.";
    }
  });
});

// Changes that come from elsewhere show without a reload, unless something is being typed.
let book = 0;
const typing = () => [...document.querySelectorAll("input[type=text], input[type=search], textarea")].some((field) => field.value !== field.defaultValue)
  || [...document.querySelectorAll("input[type=checkbox]")].some((box) => box.checked !== box.defaultChecked);
const show = () => {
  if (book > Number(content().dataset.version) && content().dataset.at && !typing() && !document.hidden) bring(location.href, {}, false);
};
// Only a page that is seen holds a connection: a browser has few of them for all its tabs. What changed meanwhile is told
// at the beginning.
let live = null;
function listen() {
  live?.close();
  live = document.hidden ? null : new EventSource("/live");
  live?.addEventListener("changed", (event) => { book = Number(event.data); last.then(show); });
  // Whoever asks is shown at once; what was just said to a person stays.
  live?.addEventListener("pairing", (event) => last.then(() => { if (content().dataset.at === "/workroom" && !typing() && (event.data === "true" || !content().querySelector(".notice"))) bring("/workroom", {}, false); }));
}
listen();
document.addEventListener("visibilitychange", listen);
addEventListener("pageshow", (event) => { if (event.persisted) listen(); });
addEventListener("pagehide", () => live?.close());
document.addEventListener("focusout", () => setTimeout(show));
