// From a list to the form that does the task: opened, in sight, and the cursor in its first field.

const wanted = new URLSearchParams(location.search).get("do");

// Of several forms of one kind the one in the step that the address names, or that is present.
function formOf(kind) {
  const forms = [...document.querySelectorAll("form.event")].filter(
    (form) => form.querySelector("input[name=kind]")?.value === kind,
  );
  const step = document.getElementById(location.hash.slice(1));
  return forms.find((form) => step?.contains(form)) ?? forms.find((form) => form.closest("[aria-current]")) ?? forms[0];
}

function arrive() {
  if (!/^[a-z_]+$/.test(wanted ?? "")) return;
  const form = formOf(wanted);
  if (!form) return;
  for (let at = form.parentElement; at; at = at.parentElement) if (at.matches("details")) at.open = true;
  const fields = [...form.querySelectorAll("input:not([type=hidden]), select, textarea")];
  const first = fields.find((field) => !field.value && !field.closest("[data-happened]")) ?? fields[0];
  first?.focus({ preventScroll: true });
  form.scrollIntoView({ block: "start" });
}

// A page that shows what was just recorded, or what was refused, has its own place to look at.
// A browser that goes to the place in the address takes the focus away once all is loaded.
function begin() {
  if (!document.querySelector("[data-focus], #recorded")) setTimeout(arrive);
}

if (document.readyState === "complete") begin();
else window.addEventListener("load", begin, { once: true });
