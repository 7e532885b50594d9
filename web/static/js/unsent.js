// A form that could not be stored stays as it was typed; the page says so, and sends it again.
// What was typed is kept on the page and nowhere else. The form carries its key: if the first
// attempt was stored after all, sending again stores nothing twice.

const unsent = new Set();

export const REASON = {
  offline: "There is no connection.",
  silence: "No answer came. It may have been stored or not; sending again does not store it twice.",
  failed: "The server could not store it.",
  locked: "The screen was locked. Unlock it, then send again.",
  signedOut: "You are signed out. Sign in again in another window, then send again.",
};

export function nameOf(form) {
  const words = form.querySelector("button:not([type=button], [data-again])")?.textContent.trim();
  return words || form.getAttribute("aria-label") || "this form";
}

function noticeOf(form) {
  return form.querySelector(":scope > .unsent");
}

export function keep(form, reason, again = "Send again") {
  unsent.add(form);
  delete form.dataset.sent;
  form.classList.add("is-unsent");
  const notice = noticeOf(form) ?? form.appendChild(made());
  notice.querySelector("[data-what]").textContent = nameOf(form);
  notice.querySelector("[data-why]").textContent = reason;
  notice.querySelector("[data-sign-in]").hidden = reason !== REASON.signedOut;
  notice.querySelector("[data-again]").textContent = again;
  notice.hidden = false;
  notice.querySelector("button").focus({ preventScroll: true });
  notice.scrollIntoView({ block: "center" });
  form.dispatchEvent(new CustomEvent("form:unsent", { bubbles: true }));
}

export function release(form) {
  unsent.delete(form);
  form.classList.remove("is-unsent");
  noticeOf(form)?.remove();
}

function made() {
  const notice = document.createElement("div");
  notice.className = "unsent notice high";
  notice.setAttribute("role", "alert");
  notice.innerHTML =
    "<p><b>Not stored: <span data-what></span>.</b> <span data-why></span></p>" +
    '<p>What you typed is kept on this page, and only here. <a data-sign-in href="/sign-in" target="_blank" hidden>Sign in</a></p>' +
    '<p><button class="button" data-again>Send again</button></p>';
  return notice;
}

// Whoever leaves the page to another person has had everything kept for them.
document.addEventListener("typed:left", () => unsent.clear());

window.addEventListener("beforeunload", (event) => {
  for (const form of unsent) if (!form.isConnected) unsent.delete(form);
  if (unsent.size) event.preventDefault();
});
