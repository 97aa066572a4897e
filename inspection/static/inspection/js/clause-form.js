// The form of a clause: shows the fields that its comparator uses, and echoes how the limit is understood.
// Without it every field shows, and the echo stands on the next page.

const form = document.getElementById("clause-form");
const comparator = form.elements.comparator;
const understood = document.getElementById("understood");

function showFields() {
  for (const part of form.querySelectorAll("[data-for]")) {
    const used = part.dataset.for.split(" ").includes(comparator.value);
    // A field with something typed in it, or something wrong with it, stays in sight.
    const fields = [...part.querySelectorAll("input:not([type=radio], [type=checkbox], [type=hidden], [type=number]), textarea")];
    part.hidden = !used && !part.querySelector(".wrong") && fields.every((field) => field.value.trim() === "");
    // The lines of a group are what the group is made of: unfold them.
    if (used && part.dataset.for === "all_of any_of") part.querySelector("details")?.setAttribute("open", "");
  }
}

let waiting;
let asked = 0;
async function askEcho() {
  const turn = ++asked;
  try {
    const answer = await fetch(form.dataset.echo, { method: "POST", body: new FormData(form) });
    const html = answer.ok ? await answer.text() : "";
    // Only the latest question counts; the server escapes what was typed.
    if (turn === asked && answer.ok) understood.innerHTML = html;
  } catch {
    // No connection: the echo comes when the clause is saved.
  }
}

// The register's measuring point goes into an empty field, and out again when the subject changes untouched.
const subject = form.elements.characteristic;
const point = form.elements.measuring_point;
let offered = "";
subject.addEventListener("change", () => {
  if (point.value.trim() !== "" && point.value !== offered) return;
  offered = subject.selectedOptions[0]?.dataset.point ?? "";
  point.value = offered;
});

form.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(askEcho, 350);
});
comparator.addEventListener("change", showFields);
showFields();
