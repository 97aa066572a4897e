// The build sheet: Enter goes on to the next field, and what is typed is echoed as it is understood.
// Without it Enter saves, and the echo stands on the next page.

const form = document.getElementById("build");
const fields = [...form.querySelectorAll("input:not([type=hidden]):not([type=checkbox]), select")];
const save = document.querySelector(`button[form="${form.id}"]`);

form.addEventListener("keydown", (event) => {
  const place = fields.indexOf(event.target);
  if (event.key !== "Enter" || place < 0 || event.target.tagName !== "INPUT") return;
  event.preventDefault();
  const next = fields[place + 1] ?? save;
  next.focus();
  next.select?.();
});

let waiting;
let asked = 0;
async function askEcho() {
  const turn = ++asked;
  try {
    const answer = await fetch(form.dataset.echo, { method: "POST", body: new FormData(form) });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (turn !== asked) return; // only the latest question counts
    for (const part of page.querySelectorAll("[data-of]")) {
      const place = document.getElementById(part.dataset.of);
      if (place && place.textContent !== part.textContent) place.textContent = part.textContent;
    }
  } catch {
    // No connection: the echo comes when the build is saved.
  }
}

form.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(askEcho, 350);
});
