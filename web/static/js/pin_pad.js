// The number pad under the field of a PIN, and a badge that is scanned on the page to sign in on.

document.addEventListener("pointerdown", (event) => {
  if (event.target.closest("[data-pin-pad] [data-key]")) event.preventDefault(); // the field keeps the cursor
});

document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-pin-pad] [data-key]")?.dataset.key;
  if (!key) return;
  const field = event.target.closest("form").querySelector("[name=pin], [name=secret]");
  if (key === "clear") field.value = "";
  else if (key === "back") field.value = field.value.slice(0, -1);
  else field.value += key;
  field.dispatchEvent(new Event("input", { bubbles: true }));
});

if (!document.body.dataset.person) {
  document.addEventListener("badge", ({ detail }) => {
    const form = document.querySelector("form[data-takes-badge]");
    if (!form) return;
    form.elements.badge.value = detail.text;
    form.elements.pin.focus();
  });
}
