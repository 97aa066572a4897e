// Keeps the ticks of a work order on this device, so that a phone put down at the bench can be taken up again.

const work = document.querySelector("[data-ticks]");
const key = `prep-ticks-${work.dataset.ticks}`;
const boxes = [...work.querySelectorAll("input")];
// A box is known by its words: steps may have been put in another order meanwhile.
const nameOf = (box) => `${box.closest("ol > li").querySelector("h3").textContent}|${box.closest("label").textContent}`;

try {
  const ticked = new Set(JSON.parse(localStorage.getItem(key) ?? "[]"));
  for (const box of boxes) box.checked = ticked.has(nameOf(box));
  work.addEventListener("change", () => {
    localStorage.setItem(key, JSON.stringify(boxes.filter((box) => box.checked).map(nameOf)));
  });
} catch {
  // Where a browser keeps nothing, ticks last as long as the page.
}
