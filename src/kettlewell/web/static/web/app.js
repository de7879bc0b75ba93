// A help at the fryer; every page does its work without it.
"use strict";
(() => {
  const SEND_AGAIN_AFTER_MS = 10_000;
  const LOOK_AGAIN_AFTER_MS = 60_000;
  const TRY_AGAIN_AFTER_MS = 5_000;

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
    form.querySelectorAll("[name$=entry_id]").forEach((field) => { field.value = uuid7(Date.now()); });
  }

  // ---- the number pad: it types into the number field that was touched last

  const byFinger = matchMedia("(any-pointer: coarse)").matches;
  const around = (inside) => inside.closest("[data-round]") ?? inside.closest("form");
  const numbersIn = (root) => [...root.querySelectorAll("input.number")];

  function fieldOf(pad) {
    const fields = numbersIn(around(pad));
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

  function takeFromPad(field) {
    // the pad stands in for the phone's own keys; a real keyboard still types
    if (byFinger && around(field)?.querySelector(".pad")) field.inputMode = "none";
  }

  const isLast = (field) => numbersIn(field.form).at(-1) === field;

  function goOn(field) {
    if (isLast(field)) return field.form.requestSubmit();
    const fields = numbersIn(field.form);
    const next = fields[fields.indexOf(field) + 1];
    next.focus();
    next.select();
  }

  document.addEventListener("mousedown", (event) => {
    if (event.target.closest(".pad")) event.preventDefault(); // the field keeps its caret
  });

  document.addEventListener("click", (event) => {
    // a tap with a glove hits no caret: it takes the whole number, and the next key writes it anew
    if (event.target.matches("input.number") && event.target.inputMode === "none") event.target.select();
    const key = event.target.closest(".pad [data-key]");
    if (!key) return;
    const field = fieldOf(key.closest(".pad"));
    if (key.dataset.key === "on") goOn(field);
    else type(field, key.dataset.key);
  });

  document.addEventListener("focusin", (event) => {
    if (!event.target.matches("input.number")) return;
    const pad = around(event.target)?.querySelector(".pad");
    if (!pad) return;
    pad.classList.toggle("saves", isLast(event.target));
    event.target.closest(".typed, .field").scrollIntoView({ block: "nearest" }); // out from under the pad
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("[data-round] input.number")) return;
    event.preventDefault();
    goOn(event.target);
  });

  // ---- parts of a long page: folded on a phone, all open where there is room

  const roomy = matchMedia("(min-width: 60rem)").matches;
  document.querySelectorAll("details.part").forEach((part) => { part.open ||= roomy || `#${part.id}` === location.hash; });

  // ---- the four conditions: a picture that is lit is so

  const picturesOf = (form) => [...form.querySelectorAll("[name=so]")];
  const allAreLit = (form) => picturesOf(form).every((picture) => picture.checked);
  const light = (form, lit) => picturesOf(form).forEach((picture) => { picture.checked = lit; });

  document.addEventListener("change", ({ target }) => {
    if (target.name === "so") {
      target.form.querySelector("[name=all_so][value=yes]").checked = allAreLit(target.form);
    } else if (target.name === "all_so") {
      if (target.value === "yes" || allAreLit(target.form)) light(target.form, target.value === "yes");
    }
  });

  // ---- a file that is too large: said before it is sent, as no answer reaches who still sends

  document.addEventListener("change", ({ target }) => {
    if (!target.dataset.most) return;
    const isTooLarge = target.files[0]?.size > Number(target.dataset.most);
    target.setCustomValidity(isTooLarge ? target.dataset.tooLarge : "");
    target.reportValidity();
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

  // ---- the sheet of days: arrows and Enter go from box to box, as in a table

  function beside(box, down, across) {
    const cell = box.closest("td"), inCell = [...cell.querySelectorAll("input")];
    const rows = [...cell.closest("tbody").rows], row = cell.parentElement;
    if (across) {
      const all = [...row.querySelectorAll("input")];
      return all[all.indexOf(box) + across];
    }
    for (let n = rows.indexOf(row) + down; rows[n]; n += down) {
      const there = rows[n].cells[cell.cellIndex].querySelectorAll("input");
      if (there.length) return there[Math.min(inCell.indexOf(box), there.length - 1)];
    }
    return undefined;
  }

  function atEnd(box, before) {
    const { selectionStart: start, selectionEnd: end, value } = box;
    if (box.type === "checkbox" || (start === 0 && end === value.length)) return true;
    return before ? end === 0 : start === value.length;
  }

  document.addEventListener("keydown", (event) => {
    const box = event.target, key = event.key;
    if (!box.matches("[data-grid] input") || event.altKey || event.ctrlKey || event.metaKey) return;
    const down = { ArrowDown: 1, Enter: 1, ArrowUp: -1 }[key] ?? 0;
    const across = { ArrowRight: 1, ArrowLeft: -1 }[key] ?? 0;
    if (!down && !(across && atEnd(box, across < 0))) return;
    event.preventDefault(); // Enter goes down a column, it does not send
    const next = beside(box, down, across);
    next?.focus();
    next?.select();
  });

  // ---- the round: each row is sent by itself, and the next one comes up

  const rowOf = (form) => form.closest("[data-row]");
  const unfolded = (form) => !form.parentElement.closest("details:not([open])");

  function say(form, what) {
    for (const said of form.querySelectorAll("[data-unsent], [data-refused]")) said.hidden = !said.matches(what);
  }

  function forAll(control, forms) {
    for (const field of forms.flatMap((form) => [...form.elements])) {
      if (field.name !== control.dataset.all || field.value !== control.value) continue;
      field.checked = control.checked;
      if (field.name === "all_so") light(field.form, control.checked);
    }
  }

  const isOfReadings = (inside) => around(inside).dataset.round === "readings";
  // what is so at every fryer holds for a second reading too; what was done there is told once
  const heeds = (form) => isOfReadings(form) || unfolded(form);

  function takeUp(form) {
    const [first] = isOfReadings(form) ? numbersIn(form) : form.querySelectorAll("[type=checkbox]");
    first?.focus({ preventScroll: true });
    rowOf(form).scrollIntoView({ block: "nearest" });
  }

  function next(row) {
    const rows = [...around(row).querySelectorAll("[data-row]")];
    const after = [...rows.slice(rows.indexOf(row) + 1), ...rows.slice(0, rows.indexOf(row))];
    const form = after.map((other) => other.querySelector("form")).find((found) => found && unfolded(found));
    if (!form) return document.activeElement?.blur();
    takeUp(form);
  }

  document.addEventListener("click", (event) => {
    const tapped = event.target.closest("[data-less], [data-more]");
    if (!tapped) return;
    const field = tapped.parentElement.querySelector("input"), sign = around(tapped).dataset.sign;
    const step = Number(tapped.parentElement.dataset.step) * (tapped.matches("[data-less]") ? -1 : 1);
    const amount = Math.max(0, (parseFloat(field.value.replace(",", ".")) || 0) + step);
    field.value = String(Math.round(10 * amount) / 10).replace(".", sign);
  });

  document.addEventListener("change", (event) => {
    const control = event.target;
    if (!control.matches("[data-all]")) return;
    const forms = [...around(control).querySelectorAll("[data-row] form")];
    forAll(control, forms.filter(heeds));
    const first = forms.find(unfolded);
    if (isOfReadings(control) && first) takeUp(first);
  });

  document.addEventListener("htmx:configRequest", (event) => {
    if (event.target.matches("form[data-entry]")) event.detail.parameters.phone_now = new Date().toISOString();
  });

  document.addEventListener("htmx:sendError", (event) => again(event.target));
  document.addEventListener("htmx:timeout", (event) => again(event.target));
  document.addEventListener("htmx:responseError", (event) => {
    if (!event.target.matches("[data-row] form")) return;
    delete event.target.dataset.sent;
    say(event.target, "[data-refused]");
  });

  /** Send a row once more, with the same entry_id: twice is once. */
  function again(form) {
    if (!form.matches("[data-row] form")) return;
    delete form.dataset.sent;
    say(form, "[data-unsent]");
    setTimeout(() => { if (form.isConnected && !form.dataset.sent) form.requestSubmit(); }, TRY_AGAIN_AFTER_MS);
  }

  // ---- what was typed and could not be sent, as nobody was signed in any more, waits in the tab

  const DRAFT = `draft ${location.pathname}`;

  function keepDraft() {
    const typed = [...document.querySelectorAll("[data-row] form")].flatMap((form) =>
      [...form.elements].filter((field) => field.id && field.type !== "hidden" && (field.checked || field.matches("input.number")))
        .map((field) => [field.id, field.value]));
    sessionStorage.setItem(DRAFT, JSON.stringify(typed));
  }

  document.addEventListener("htmx:beforeOnLoad", (event) => {
    if (event.target.matches("[data-row] form") && event.detail.xhr.getResponseHeader("HX-Redirect")) keepDraft();
  });

  function bringDraft() {
    for (const [id, value] of JSON.parse(sessionStorage.getItem(DRAFT) ?? "[]")) {
      const field = document.getElementById(id);
      if (!field) continue;
      if (field.matches("input.number")) field.value = value;
      else field.checked = true;
    }
    sessionStorage.removeItem(DRAFT);
  }

  function begin(root) {
    const within = (selector) => [...document.querySelectorAll(selector)].filter((found) => root.contains(found));
    within("form[data-entry]").forEach(freshen);
    within("input.number").forEach(takeFromPad);
    within(".pad, .for-all, [data-less], [data-more]").forEach((helping) => { helping.hidden = false; });
    within("[role=alert]")[0]?.focus();
  }

  begin(document);
  bringDraft();
  window.addEventListener("pageshow", (event) => { if (event.persisted) begin(document); });
  document.addEventListener("htmx:load", (event) => {
    const loaded = event.target;
    begin(loaded);
    if (!loaded.matches("[data-row]")) return;
    around(loaded).querySelectorAll("[data-all]:checked").forEach((control) => {
      forAll(control, [...loaded.querySelectorAll("form")].filter(heeds));
    });
    if (!loaded.querySelector("[role=alert]")) next(loaded);
  });
})();
