// A refused form: take the reader to what is wrong, as a page load would not by itself.
const summary = document.querySelector("[data-focus]");
if (summary) summary.focus();

// A slow answer must not become a second fact: a form that was sent is not sent again.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches("[hx-post]")) return; // htmx queues by itself
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});

// Coming back with the browser's own button shows the form as it was: it may be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});
