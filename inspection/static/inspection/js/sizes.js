// Shows in the drawing which size the field in use asks for. Without it the numbers tell.

const drawn = new Map([...document.querySelectorAll(".size-views [data-size]")].map((part) => [part.dataset.size, part]));

for (const [event, isOn] of [["focusin", true], ["focusout", false]]) {
  document.addEventListener(event, ({ target }) => {
    const code = target.name?.startsWith("size-") ? target.name.slice("size-".length) : "";
    drawn.get(code)?.classList.toggle("current", isOn);
  });
}
