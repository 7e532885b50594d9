// What somebody typed on this page and did not store. It is kept on the server for them alone when
// they leave, and it is put back into the same fields when they come to the page again.

import { keep } from "./unsent.js";

const FIELD = "input:not([type=hidden], [type=password], [type=file], [type=submit]), select, textarea";
const here = location.pathname;

// ---- keeping ----

const touched = new WeakSet(); // forms that somebody, or a scanner, has put something into

for (const kind of ["input", "change"]) {
  document.addEventListener(kind, ({ target }) => target.form && touched.add(target.form), true);
}

// A time that counts on by itself was typed by nobody.
function isChanged(field) {
  if (field.closest("[data-happened]")) return false;
  if (field.matches("[type=radio], [type=checkbox]")) return field.checked !== field.defaultChecked;
  if (field.matches("select")) return [...field.options].some((one) => one.selected !== one.defaultSelected) && field.selectedIndex > 0;
  return field.value !== field.defaultValue;
}

// A form that is put together by a script alone, or that asks who somebody is, is not typed text.
function typedForms() {
  return [...document.querySelectorAll("main form[method=post]")].filter(
    (form) => touched.has(form) && !form.querySelector("[type=password]") && [...form.querySelectorAll(FIELD)].some(isChanged),
  );
}

function labelOf(field) {
  const words = field.labels?.[0] ?? field.closest("fieldset")?.querySelector("legend");
  return (words?.textContent ?? field.name).replace(/\(optional\)/, "").trim().replace(/\s+/g, " ");
}

function plain(form) {
  const fields = [...form.querySelectorAll(`${FIELD}, [name=once]`)].filter(
    (field) => field.name && (field.checked || !field.matches("[type=radio], [type=checkbox]")),
  );
  return [form.id, form.getAttribute("action"), titleOf(form), fields.map((field) => [field.name, field.value, labelOf(field)])];
}

function titleOf(form) {
  const button = form.querySelector("button:not([type=button], [data-again])");
  return button?.textContent.trim() || form.getAttribute("aria-label") || "a form";
}

function post(address, values) {
  const token = document.querySelector("input[name=csrf_token]")?.value ?? "";
  const body = new URLSearchParams({ csrf_token: token, ...values });
  return fetch(address, { method: "POST", body });
}

// Answers whether there is nothing that could get lost.
export async function keepTyped() {
  const forms = typedForms().map(plain);
  if (forms.length === 0) return true;
  try {
    return (await post("/unsent", { path: here, forms: JSON.stringify(forms) })).ok;
  } catch {
    return false;
  }
}

export function dropTyped() {
  return post("/unsent/drop", { path: here }).catch(() => {});
}

// ---- putting back ----

async function comeBack() {
  const answer = await fetch(`/unsent?path=${encodeURIComponent(here)}`).catch(() => null);
  if (!answer?.ok || answer.redirected) return;
  const { forms, kept_at: keptAt, elsewhere } = await answer.json();
  const homeless = forms.filter((form) => !putBack(form, clockOf(keptAt)));
  if (homeless.length) tell(homeless);
  else if (forms.length) dropTyped();
  if (elsewhere.length) remind(elsewhere);
}

function clockOf(instant) {
  const zone = document.body.dataset.zone;
  return new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: zone }).format(new Date(instant));
}

function formOf({ id, action }) {
  const named = id ? document.getElementById(id) : null;
  return named?.matches("form") ? named : document.querySelector(`main form[method=post][action="${CSS.escape(action)}"]`);
}

function putBack(kept, at) {
  const form = formOf(kept);
  if (!form) return false;
  const values = kept.fields.map(([name, value]) => ({ name, value }));
  for (const field of form.querySelectorAll(`${FIELD}, [name=once]`)) fill(field, values);
  for (let around = form.parentElement; around; around = around.parentElement) {
    if (around.matches("details")) around.open = true;
  }
  keep(form, `You left it typed at ${at}.`, "Record it");
  return true;
}

function fill(field, values) {
  if (field.matches("[type=radio], [type=checkbox]")) {
    field.checked = values.some(({ name, value }) => name === field.name && value === field.value);
  } else {
    const place = values.findIndex(({ name }) => name === field.name);
    if (place < 0) return;
    field.value = values.splice(place, 1)[0].value;
  }
  for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
}

// ---- saying ----

function notice(html) {
  const element = document.createElement("div");
  element.className = "notice left-typed";
  element.setAttribute("role", "status");
  element.innerHTML = html;
  document.getElementById("main").prepend(element);
  return element;
}

// The step has moved on, and no form asks for it any more: it can still be read.
function tell(forms) {
  const element = notice('<p><b>You left this typed and not stored.</b> No form on this page asks for it any more.</p><ul></ul><p><button type="button" class="button quiet">Let it go</button></p>');
  for (const { title, fields } of forms) {
    const said = fields.filter(([name, value]) => name !== "once" && value).map(([, value, label]) => `${label} ${value}`);
    element.querySelector("ul").append(Object.assign(document.createElement("li"), { textContent: `${title}: ${said.join("; ")}` }));
  }
  element.querySelector("button").addEventListener("click", () => {
    dropTyped();
    element.remove();
  });
}

function remind(pages) {
  const element = notice("<p>You left something typed and not stored: </p>");
  pages.forEach(([path, title], place) => {
    if (place) element.firstChild.append(", ");
    element.firstChild.append(Object.assign(document.createElement("a"), { href: path, textContent: title }));
  });
}

if (document.body.dataset.person) comeBack();
