// Notifications of the browser: by bed, one for each reminder, closed when it calls no longer.

import { claim, isOn } from "./device.js";

const WORKER = "/static/js/notices_worker.js";
const LACKS = "This browser does not let the page notify here; it needs a secure address.";
const REFUSED = "Notifications are blocked for this address: allow them in the settings of the browser.";
const has = "Notification" in window && "serviceWorker" in navigator;
let worker = null;

export function lack() {
  if (!has) return LACKS;
  return Notification.permission === "denied" ? REFUSED : "";
}

export function willNotify() {
  return has && isOn("notices") && Notification.permission === "granted";
}

// Asked only on a touch; answers whether the person agreed.
export async function agree() {
  return has && (await Notification.requestPermission()) === "granted";
}

async function ready() {
  worker ??= navigator.serviceWorker.register(WORKER).then(async (registration) => {
    const coming = registration.installing ?? registration.waiting;
    if (!registration.active && coming) await new Promise((done) => coming.addEventListener("statechange", () => registration.active && done()));
    return registration;
  });
  return worker;
}

export async function notify(calls) {
  if (!willNotify() || calls.length === 0) return;
  const registration = await ready();
  const fresh = await claim("notice", calls.map((call) => call.tag));
  for (const call of calls.filter(({ tag }) => fresh.includes(tag))) {
    await registration.showNotification(call.title, {
      body: call.body,
      tag: call.tag,
      data: { href: call.href },
      icon: "/static/icon.svg",
      lang: "en",
      silent: true, // the page has its own tone
      requireInteraction: call.priority === "high",
    });
  }
}

// Those that call no longer are taken back, whichever page showed them.
export async function withdraw(tags) {
  if (!has || Notification.permission !== "granted") return;
  const registration = await ready();
  for (const shown of await registration.getNotifications()) if (!tags.includes(shown.tag)) shown.close();
}

// A touch on one is answered by a list that stands open, or by a new page.
navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (typeof data?.href === "string" && data.href.startsWith("/")) location.assign(data.href);
});
