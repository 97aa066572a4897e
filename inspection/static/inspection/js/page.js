// What every page has: the light or dark switch, the clock in the running head, and a menu that closes by itself.

const root = document.documentElement;
const choices = [...document.querySelectorAll("[data-theme-choice]")];

function showChoice() {
  const current = root.dataset.theme ?? "auto";
  for (const button of choices) button.setAttribute("aria-pressed", String(button.dataset.themeChoice === current));
}

for (const button of choices) {
  button.addEventListener("click", () => {
    const choice = button.dataset.themeChoice;
    if (choice === "auto") delete root.dataset.theme;
    else root.dataset.theme = choice;
    try {
      if (choice === "auto") localStorage.removeItem("theme");
      else localStorage.setItem("theme", choice);
    } catch {
      // Holds for this page alone.
    }
    showChoice();
  });
}
showChoice();

for (const clock of document.querySelectorAll("[data-clock]")) {
  const format = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: clock.dataset.zone });
  setInterval(() => {
    const text = format.format(new Date());
    if (clock.textContent !== text) clock.textContent = text;
  }, 1000);
}

for (const menu of document.querySelectorAll("details.menu")) {
  document.addEventListener("click", (event) => {
    if (!menu.contains(event.target)) menu.open = false;
  });
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.open) return;
    menu.open = false;
    menu.querySelector("summary").focus();
  });
}
