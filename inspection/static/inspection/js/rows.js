// Adds a row to a table or a set of fields. Without it the page offers two blank rows, and saving offers two more.

for (const button of document.querySelectorAll("[data-add-row]")) {
  const prefix = button.dataset.addRow;
  const rows = document.querySelector(`[data-rows="${prefix}"]`);
  const body = rows.querySelector("tbody") ?? rows;
  const template = document.querySelector(`template[data-row-of="${prefix}"]`);
  const total = document.getElementById(`id_${prefix}-TOTAL_FORMS`);
  const most = Number(document.getElementById(`id_${prefix}-MAX_NUM_FORMS`).value);
  button.hidden = Number(total.value) >= most;
  button.addEventListener("click", () => {
    const index = Number(total.value);
    if (index >= most) return;
    const row = template.content.cloneNode(true);
    for (const part of row.querySelectorAll("[name], [id], [for]")) {
      for (const name of ["name", "id", "for"]) {
        if (part.hasAttribute(name)) part.setAttribute(name, part.getAttribute(name).replace("__prefix__", index));
      }
    }
    body.append(row);
    total.value = index + 1;
    button.hidden = index + 1 >= most;
    body.lastElementChild.querySelector("input").focus();
  });
}
