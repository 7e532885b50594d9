// The page of a suspected reaction: after an answer on to what is wrong, to what a set says, or to
// the next step. What was stored leaves its form, so that nobody stores it a second time.

let answered = null; // where the form stood that was answered last

document.addEventListener("htmx:before:swap", (event) => {
  const { ctx } = event.detail;
  const { sourceElement: form, response } = ctx;
  if (!form?.matches?.("form[hx-post]")) return;
  answered = { ctx, isStep: form.closest(".ticks") !== null, fold: form.closest("details")?.id };
  if (response?.status < 400) form.reset();
  else answered.fold = null;
});

// What is refreshed in place meanwhile ends its own swap, not that of the answer.
document.addEventListener("htmx:after:swap", (event) => {
  if (event.detail.ctx !== answered?.ctx) return;
  const { isStep, fold } = answered;
  answered = null;
  const wrong = document.querySelector("#reaction-page [data-focus]");
  if (wrong) return look(wrong, "center");
  if (fold) document.getElementById(fold)?.removeAttribute("open");
  const prompted = document.getElementById("prompted");
  if (prompted) return look(prompted, "start");
  if (isStep) return look(document.querySelector("#reaction-now [aria-current='step'] :is(a, button)"), "nearest");
  look(document.getElementById("recorded"), "center");
});

function look(place, block) {
  if (!place) return;
  place.closest("details")?.setAttribute("open", "");
  place.focus({ preventScroll: true });
  place.scrollIntoView({ block });
}
