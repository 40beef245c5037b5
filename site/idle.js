// What can wait until the page is at rest. No longer than is said: a page of which nothing has to be
// drawn anew may never be told that it is.

export function whenIdle(work, timeout) {
  if (globalThis.requestIdleCallback) requestIdleCallback(() => work(), { timeout });
  else setTimeout(work, Math.min(timeout, 500));
}
