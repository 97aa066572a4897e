// Ticks every free box of the form that the button names.
for (const button of document.querySelectorAll("[data-tick-all]")) {
  button.addEventListener("click", () => {
    const form = document.getElementById(button.dataset.tickAll);
    for (const box of form.querySelectorAll('input[type="checkbox"]:not(:disabled)')) {
      box.checked = true;
    }
  });
}
