// Keeps a part of a page up to date: fetches it every so many seconds while somebody looks, and says so when it cannot.
// Without it the page is plain and shows what was true when it was opened.

function keepFresh(part) {
  const stale = document.querySelector("[data-stale]");
  let shown = null;

  function put(html) {
    const active = part.contains(document.activeElement) ? document.activeElement : null;
    const mark = active?.id ? `#${CSS.escape(active.id)}` : active?.getAttribute("href");
    const folds = [...part.querySelectorAll("details[id]")].map((each) => [each.id, each.open]);
    part.innerHTML = html;
    for (const [id, open] of folds) document.getElementById(id)?.toggleAttribute("open", open);
    if (!mark) return;
    const again = mark.startsWith("#") ? part.querySelector(mark) : part.querySelector(`a[href="${CSS.escape(mark)}"]`);
    again?.focus({ preventScroll: true });
  }

  async function look() {
    if (document.hidden) return;
    try {
      // "no-cache" asks with the tag of what is at hand, so that an unchanged part costs a few bytes.
      const answer = await fetch(part.dataset.refresh, { cache: "no-cache" });
      if (answer.redirected) return window.location.reload();
      if (!answer.ok) throw new Error(String(answer.status));
      const html = await answer.text();
      if (shown !== html) put(html);
      shown = html;
      if (stale) stale.hidden = true;
    } catch {
      if (stale) stale.hidden = false;
    }
  }

  setInterval(look, Number(part.dataset.every) * 1000);
  document.addEventListener("visibilitychange", look);
  // A page brought back by the "back" key is as old as when it was left.
  window.addEventListener("pageshow", (event) => event.persisted && look());
}

for (const part of document.querySelectorAll("[data-refresh]")) keepFresh(part);
