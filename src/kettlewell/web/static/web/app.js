// A help at the fryer; every page does its work without it.
"use strict";
(() => {
  const SEND_AGAIN_AFTER_MS = 10_000;
  const LOOK_AGAIN_AFTER_MS = 60_000;

  /** Return a UUID version 7 (RFC 9562, 5.7): milliseconds since 1970, then random bits. */
  function uuid7(now_ms) {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    for (let i = 5, rest = now_ms; i >= 0; i--, rest = Math.floor(rest / 256)) bytes[i] = rest % 256;
    bytes[6] = (bytes[6] & 0x0f) | 0x70;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  function fill(form, name, value) {
    const field = form.elements.namedItem(name);
    if (field) field.value = value;
  }

  function freshen(form) {
    delete form.dataset.sent;
    fill(form, "entry_id", uuid7(Date.now()));
  }

  // ---- the number pad: it types into the number field that was touched last

  function fieldOf(pad) {
    const fields = [...pad.closest("form").querySelectorAll("input.number")];
    return fields.find((field) => field === document.activeElement) ??
      fields.find((field) => field.value === "") ?? fields.at(-1);
  }

  function type(field, key) {
    field.focus();
    let start = field.selectionStart;
    if (key === "erase" && start === field.selectionEnd) start = Math.max(start - 1, 0);
    field.setRangeText(key === "erase" ? "" : key, start, field.selectionEnd, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function showPad(pad) {
    pad.hidden = false;
    if (!matchMedia("(any-pointer: coarse)").matches) return;
    // the pad stands in for the phone's own keys; a real keyboard still types
    pad.closest("form").querySelectorAll("input.number").forEach((field) => { field.inputMode = "none"; });
  }

  document.addEventListener("mousedown", (event) => {
    if (event.target.closest(".pad")) event.preventDefault(); // the field keeps its caret
  });

  document.addEventListener("click", (event) => {
    // a tap with a glove hits no caret: it takes the whole number, and the next key writes it anew
    if (event.target.matches("input.number") && event.target.inputMode === "none") event.target.select();
    const key = event.target.closest(".pad [data-key]");
    if (key) type(fieldOf(key.closest(".pad")), key.dataset.key);
  });

  // ---- sending

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    if (form.matches("[data-entry]")) fill(form, "phone_now", new Date().toISOString());
    if (form.method !== "post") return;
    form.dataset.sent = "yes";
    // the same entry_id goes out again, and twice is once
    setTimeout(() => delete form.dataset.sent, SEND_AGAIN_AFTER_MS);
  });

  // ---- the line looks again by itself, unless somebody looks into a fryer, and says when it cannot

  setInterval(() => {
    const line = document.querySelector("[data-again]");
    if (line && !document.hidden && !line.querySelector("details[open]")) htmx.trigger(line, "again");
  }, LOOK_AGAIN_AFTER_MS);

  function stale() {
    const said = document.querySelector("[data-stale]");
    if (said) said.hidden = false;
  }

  document.addEventListener("htmx:sendError", stale);
  document.addEventListener("htmx:responseError", stale);
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (!event.target.matches("[data-again]") || event.detail.serverResponse.includes("data-again")) return;
    event.preventDefault();
    location.reload(); // signed out meanwhile
  });

  function begin(root) {
    const within = (selector) => [...document.querySelectorAll(selector)].filter((found) => root.contains(found));
    within("form[data-entry]").forEach(freshen);
    within(".pad").forEach(showPad);
    within("[role=alert]")[0]?.focus();
  }

  begin(document);
  window.addEventListener("pageshow", (event) => { if (event.persisted) begin(document); });
  document.addEventListener("htmx:load", (event) => begin(event.target));
})();
