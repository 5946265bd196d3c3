// Swaps in what forms and changes of the book bring, one after the other, and keeps the focus where it was. Without it
// the page works all the same, with reloads.
"use strict";

document.documentElement.classList.add("live");
const said = () => document.getElementById("said");
const content = () => document.getElementById("content");

/** What a control is known by when the page around it is new. */
const nameOf = (el) => el?.dataset?.id || el?.id || el?.getAttribute?.("href") || el?.name || "";
const alike = (name) => [...document.querySelectorAll("a, button, input, textarea, summary")].filter((el) => nameOf(el) === name);

/** True of a field that somebody typed in or ticked since it came. */
const touched = (field) => ["checkbox", "radio"].includes(field.type) ? field.checked !== field.defaultChecked
  : field.type === "file" ? field.files.length > 0
  : field.tagName === "SELECT" ? [...field.options].some((option) => option.selected !== option.defaultSelected)
  : field.type !== "hidden" && "defaultValue" in field && field.value !== field.defaultValue;
/** What a field is known by when the page around it is new: where its form leads, and its own name there. */
const fieldName = (field) => [field.form?.getAttribute("action"), field.form?.querySelector("[name=event][type=hidden]")?.value, field.dataset.id, field.dataset.place, field.name,
  ["checkbox", "radio"].includes(field.type) ? field.value : ""].join("\n");
const fields = (within) => [...within.querySelectorAll("input, textarea, select")];

/** Carries what is being typed into the fresh page; what has no place there any more is shown under it. */
function carry(old, fresh, sent) {
  const there = new Map(fields(fresh).map((field) => [fieldName(field), field]));
  const lost = [];
  for (const field of fields(old)) {
    if (!touched(field) || field.closest(".left-over") || (sent && field.form === sent)) continue;
    const now = there.get(fieldName(field));
    if (!now) { if (["text", "search", "textarea"].includes(field.type) && field.value.trim()) lost.push(field); continue; }
    // The very field: with its caret, its undo, its files. What it began as is what the fresh page has.
    for (const name of ["value", "aria-invalid", "aria-describedby"]) {
      if (field.type === "file") continue;
      if (now.hasAttribute(name)) field.setAttribute(name, now.getAttribute(name));
      else field.removeAttribute(name);
    }
    if (field.tagName === "TEXTAREA") field.defaultValue = now.defaultValue;
    now.replaceWith(field);
    field.closest("details")?.setAttribute("open", "");
  }
  if (!lost.length) return;
  const kept = document.createElement("section");
  kept.className = "pane left-over";
  kept.innerHTML = "<h2>What you were typing</h2><p>Its place is gone: somebody changed or removed it meanwhile.</p>";
  for (const field of lost) {
    const label = kept.appendChild(document.createElement("label"));
    label.appendChild(document.createElement("span")).textContent = field.closest("label")?.querySelector("span")?.textContent || field.getAttribute("aria-label") || "Typed";
    const area = label.appendChild(document.createElement("textarea"));
    area.value = field.value;
    area.name = "left_over";
  }
  fresh.append(kept);
}

/** Puts a fetched page in place of this one. `sent` is the form that asked for it. */
async function swap(response, push, sent) {
  const text = await response.text();
  const next = new DOMParser().parseFromString(text, "text/html");
  const fresh = next.getElementById("content");
  if (!fresh) { location.assign(response.url); return; }
  // What was refused is said where it was asked, and what was typed stays there.
  const refusal = !response.ok && !fresh.dataset.at && fresh.querySelector(".refusal");
  if (refusal && sent?.isConnected && push) {
    for (const old of document.querySelectorAll("main .refusal")) old.remove();
    const here = document.adoptNode(refusal);
    sent.after(here);
    here.scrollIntoView({ block: "nearest" });
    said().textContent = here.textContent;
    return;
  }
  // A refusal, or a slip at the pad, comes under the address that the form was sent to: it is no page to come back to.
  const kept = ["/act", "/ask", "/unit", "/backup", "/take-in", "/photo", "/workroom/invite", "/workroom/confirm", "/check", "/check/mend"].includes(new URL(response.url).pathname);
  // A reading that is being typed stays at its place, wherever somebody else's ask would lead the walk.
  const reading = content().querySelector(".pad [data-id=reading]");
  if (!push && reading && touched(reading) && fresh.querySelector(".pad [data-id=reading]")?.dataset.place !== reading.dataset.place) return;
  const samePage = fresh.dataset.at === content().dataset.at;
  const held = document.activeElement;
  const name = nameOf(held);
  const nth = name ? alike(name).indexOf(held) : -1;
  const y = scrollY;
  const top = held !== document.body && held?.getBoundingClientRect().top;
  const caret = typeof held?.selectionStart === "number" && held.type !== "file" ? [held.selectionStart, held.selectionEnd, held.selectionDirection] : null;
  const open = new Set([...document.querySelectorAll("details[open] > summary")].map((s) => s.textContent));
  for (const link of next.querySelectorAll("link[rel=stylesheet]")) {
    const sheet = `link[href="${link.getAttribute("href")}"]`;
    if (!document.querySelector(sheet)) document.querySelector("link[rel=stylesheet]").before(document.adoptNode(link));
  }
  const light = next.documentElement.dataset.light;
  if (light) document.documentElement.dataset.light = light;
  else delete document.documentElement.dataset.light;
  document.querySelector("header.top").replaceWith(document.adoptNode(next.querySelector("header.top")));
  if (samePage || (!push && sent !== "away")) carry(content(), fresh, sent);
  for (const over of document.querySelectorAll("main .left-over")) fresh.append(over);
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
  if (samePage && caret && to?.value === held.value) to.setSelectionRange(...caret);
  else if (to?.type === "text") to.setSelectionRange(to.value.length, to.value.length);
  // What another added above does not move the field under the hand.
  if (samePage && !push && top !== false && to) scrollBy(0, to.getBoundingClientRect().top - top);
  const notice = document.querySelector(".refusal, #slip, .notice");
  said().classList.add("quiet");
  said().textContent = notice ? notice.textContent : document.querySelector("h1")?.textContent || "";
}

// One after the other: two keys pressed fast arrive in the order they were pressed.
let last = Promise.resolve();
function bring(url, options, push, sent) {
  last = last.then(async () => {
    const slow = setTimeout(() => { document.body.setAttribute("aria-busy", "true"); said().textContent = "Working it out."; }, 250);
    try {
      await swap(await fetch(url, options), push, sent);
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
  if (form.dataset.drop) {
    const files = [...form.querySelector("input[type=file]").files];
    if (files.length || form.dataset.drop === "photo") { event.preventDefault(); hand(form, files); }
    return;
  }
  event.preventDefault();
  const data = new URLSearchParams(new FormData(form, event.submitter));
  const to = form.getAttribute("action");
  if (form.method === "get") bring(`${to}?${data}`, {}, true, form);
  else bring(to, { method: "POST", body: data }, true, form);
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

// Files, picked or dropped: sent one after the other, each with what became of it. The list stays while pages change.
function handed() {
  let pane = document.getElementById("handed");
  if (!pane) {
    pane = document.createElement("section");
    pane.id = "handed";
    pane.className = "pane";
    pane.setAttribute("aria-label", "Files");
    pane.innerHTML = '<p role="status"></p><progress aria-label="Files sent"></progress><ul></ul><button type="button">Close</button>';
    pane.querySelector("button").addEventListener("click", () => pane.remove());
    content().before(pane);
  }
  return pane;
}
async function hand(form, files) {
  const pane = handed(), list = pane.querySelector("ul"), bar = pane.querySelector("progress"), says = pane.querySelector("p");
  const rows = files.map((file) => {
    const row = list.appendChild(document.createElement("li"));
    row.textContent = `${file.name}: waiting`;
    return row;
  });
  const [field, action] = [form.dataset.drop, form.getAttribute("action")];
  const words = [...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "text");
  bar.max = files.length;
  let good = 0;
  for (const [n, file] of files.entries()) {
    bar.value = n;
    says.textContent = `${n} of ${files.length} sent.`;
    rows[n].textContent = `${file.name}: being sent`;
    try {
      const data = new FormData();
      for (const [name, value] of words) data.append(name, value);
      data.append("list", "yes");
      data.append(field, file, file.name);
      const got = await fetch(action, { method: "POST", body: data });
      const fresh = new DOMParser().parseFromString(await got.text(), "text/html");
      const result = fresh.querySelector("#results > li");
      if (result) rows[n].replaceWith(document.adoptNode(result));
      else rows[n].textContent = `${file.name}: ${fresh.querySelector(".refusal")?.textContent || "not taken in"}`;
      if (got.ok) good += 1;
    } catch {
      rows[n].textContent = `${file.name}: could not be sent. The program does not answer; start it again.`;
    }
  }
  bar.value = files.length;
  says.textContent = `${good} of ${files.length} taken in.`;
  if (good === files.length && form.isConnected) form.reset();
  await last;
  if (content().dataset.at) bring(location.href, {}, false);
}
const carriesFiles = (event) => [...(event.dataTransfer?.types || [])].includes("Files");
const target = () => document.querySelector("form[data-drop]");
document.addEventListener("dragover", (event) => {
  if (!carriesFiles(event)) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = target() ? "copy" : "none";
  document.body.classList.toggle("dropping", Boolean(target()));
});
document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dropping"); });
document.addEventListener("drop", (event) => {
  if (!carriesFiles(event)) return;
  // A file that misses would take the place of the page.
  event.preventDefault();
  document.body.classList.remove("dropping");
  const files = [...event.dataTransfer.files];
  if (target() && files.length) hand(target(), files);
});

// A control says its own key; letters can be turned off, and never reach where something is typed.
document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.isComposing || document.body.dataset.keys === "off") return;
  if (event.target.closest?.("input:not([type=checkbox], [type=radio]), textarea, select")) return;
  const control = [...document.querySelectorAll("[aria-keyshortcuts]")].find((each) => each.getAttribute("aria-keyshortcuts") === event.key && each.checkVisibility() && !each.ariaDisabled);
  if (!control) return;
  event.preventDefault();
  control.click();
});

addEventListener("popstate", () => bring(location.href, {}, false, "away"));

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

// Changes that come from elsewhere show without a reload, also while something is being typed: that is carried over. A word
// that an input method is still composing is waited for.
let book = 0, composing = false;
document.addEventListener("compositionstart", () => { composing = true; });
document.addEventListener("compositionend", () => { composing = false; setTimeout(show); });
const typing = () => fields(content()).some(touched);
const show = () => {
  if (!composing && book > Number(content().dataset.version) && content().dataset.at && !document.hidden) bring(location.href, {}, false);
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

// A signature is drawn with a finger or a mouse into a box of 300 by 100; who has none of them leaves it empty.
const signing = (box) => {
  const pad = box.querySelector("svg");
  const field = box.querySelector("input");
  const strokes = [];
  let line = null;
  const at = (event) => {
    const seen = pad.getBoundingClientRect();
    const on = (value, from, size, most) => Math.max(0, Math.min(most, Math.round(((value - from) / size) * most)));
    return `${on(event.clientX, seen.left, seen.width, 300)} ${on(event.clientY, seen.top, seen.height, 100)}`;
  };
  pad.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    pad.setPointerCapture(event.pointerId);
    strokes.push([at(event)]);
    line = pad.appendChild(document.createElementNS("http://www.w3.org/2000/svg", "polyline"));
  });
  pad.addEventListener("pointermove", (event) => {
    if (!line) return;
    const stroke = strokes[strokes.length - 1];
    const now = at(event);
    if (now !== stroke[stroke.length - 1]) stroke.push(now);
    line.setAttribute("points", stroke.join(" "));
    field.value = strokes.map((one) => one.join(" ")).join(";");
  });
  pad.addEventListener("pointerup", () => { line = null; });
  box.querySelector("[data-sign-clear]").addEventListener("click", () => { strokes.length = 0; field.value = ""; pad.replaceChildren(); });
  box.hidden = false;
};
const signings = () => document.querySelectorAll("[data-sign][hidden]").forEach(signing);
signings();
new MutationObserver(signings).observe(document.body, { childList: true, subtree: true });
