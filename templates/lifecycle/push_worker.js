// Shows messages while no page of the site is open, and opens the page a message is about.
self.addEventListener("push", (event) => {
  const message = event.data ? event.data.json() : {};
  event.waitUntil(
    self.registration.showNotification(message.title || "Garden record", {
      body: message.body || "",
      tag: message.tag || "",
      data: message.url || "/",
    }),
  );
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const wanted = new URL(event.notification.data, self.location.origin);
  const address = wanted.origin === self.location.origin ? wanted.href : self.location.origin;
  event.waitUntil(
    self.clients.matchAll({ type: "window" }).then((pages) => {
      const open = pages.find((page) => page.url === address);
      return open ? open.focus() : self.clients.openWindow(address);
    }),
  );
});
