// Runs beside the pages only to answer a touch on a notification; it sees no request of any page.

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(open(event.notification.data.href));
});

// A list loses nothing by leaving; a form may hold what was typed, so that it stays.
async function open(href) {
  const pages = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const list = pages.find((page) => /^\/(mine|wards\/[^/]+\/board)$/.test(new URL(page.url).pathname));
  if (!list) return self.clients.openWindow(href);
  list.postMessage({ href });
  return list.focus();
}
