// Asks the browser for messages when, and only when, a person presses the button.
(async () => {
  const form = document.getElementById("push");
  const say = (words) => (document.getElementById("push-state").textContent = words);
  if (!("serviceWorker" in navigator && "PushManager" in window && "Notification" in window)) {
    return say("This browser cannot show messages of this site.");
  }
  const text = form.dataset.key.replace(/-/g, "+").replace(/_/g, "/");
  const key = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const ours = (found) =>
    new Uint8Array(found.options.applicationServerKey || []).join() === key.join();

  const worker = await navigator.serviceWorker.getRegistration("/");
  const before = worker && (await worker.pushManager.getSubscription());
  const known = form.dataset.known.split(" ");
  if (before && ours(before) && known.includes(before.endpoint)) {
    return say("This device shows your messages.");
  }
  form.hidden = false;

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    // First of all: some browsers ask only in answer to the press itself.
    if ((await Notification.requestPermission()) !== "granted") {
      return say("This browser does not allow it. Change that in its settings for this site, then press again.");
    }
    try {
      await navigator.serviceWorker.register("/push-worker.js");
      const { pushManager } = await navigator.serviceWorker.ready;
      let found = await pushManager.getSubscription();
      if (found && !ours(found)) {
        await found.unsubscribe();
        found = null;
      }
      found ||= await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key });
      const { endpoint, keys } = found.toJSON();
      Object.assign(form.elements.endpoint, { value: endpoint });
      Object.assign(form.elements.p256dh, { value: keys.p256dh });
      Object.assign(form.elements.auth, { value: keys.auth });
      form.submit();
    } catch {
      say("The browser did not get an address for messages. Try again later.");
    }
  });
})();
