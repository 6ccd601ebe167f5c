"use strict";

// Everything here is a comfort; each page works without it.

const PATIENCE_MS = 15000;

function release(form) {
  delete form.dataset.sent;
  for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
}

// A form is sent once: the second press is dropped until an answer or the patience's end.
addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) {
    event.preventDefault();
    event.stopImmediatePropagation();
    return;
  }
  form.dataset.sent = "yes";
  event.submitter?.setAttribute("aria-busy", "true");
  setTimeout(() => release(form), PATIENCE_MS);
}, true);

// Going back shows the page as it was left, busy buttons included.
addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach(release));

addEventListener("htmx:afterRequest", (event) => {
  const form = event.target.closest?.("form");
  if (form) release(form);
});

// Menus close on Escape and on a press elsewhere.
function closeMenus(except) {
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (!menu.contains(except)) menu.open = false;
  }
}

addEventListener("click", (event) => {
  closeMenus(event.target);
  if (event.target.closest("[data-print]")) print();
  const copier = event.target.closest("[data-copy]");
  if (copier) copy(copier);
});

// One press copies what stands in a field, where the browser lets a page do that.
async function copy(button) {
  const field = document.getElementById(button.dataset.copy);
  field.select();
  await navigator.clipboard.writeText(field.value);
  button.textContent = "Copied";
}

addEventListener("DOMContentLoaded", () => {
  for (const button of document.querySelectorAll("[data-copy]")) button.hidden = !navigator.clipboard;
});

addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const menu = event.target.closest?.("details.menu[open]");
  closeMenus(null);
  menu?.querySelector("summary").focus();
});

// After a refused form the first error is where the reader wants to be.
addEventListener("DOMContentLoaded", () => document.querySelector("form .notice[role=alert]")?.focus());
