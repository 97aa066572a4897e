// Runs before the page is drawn, so that a chosen theme never flashes: not a module.
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  let choice = null;
  try {
    choice = localStorage.getItem("theme");
  } catch {
    // No storage in this browser: the system's own wish holds.
  }
  if (choice === "light" || choice === "dark") root.dataset.theme = choice;
})();
