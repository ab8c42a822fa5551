"use strict";
(() => {
  const table = document.getElementById("vehicles");
  const body = table.tBodies[0];
  const rows = Array.from(body.rows);
  const words = rows.map((row) => row.textContent.toLowerCase());
  const search = document.getElementById("search");
  const count = document.getElementById("count");
  document.getElementById("tools").hidden = false;
  search.addEventListener("input", () => {
    const wanted = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    rows.forEach((row, place) => {
      row.hidden = !wanted.every((word) => words[place].includes(word));
      shown += row.hidden ? 0 : 1;
    });
    count.textContent = `${shown} of ${rows.length} shown`;
  });
  Array.from(table.tHead.rows[0].cells).forEach((cell, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = cell.textContent;
    cell.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = cell.getAttribute("aria-sort") === "ascending";
      Array.from(table.tHead.rows[0].cells).forEach((other) => other.removeAttribute("aria-sort"));
      cell.setAttribute("aria-sort", down ? "descending" : "ascending");
      const text = (row) => row.cells[column].textContent;
      const compare = cell.dataset.kind === "number"
        ? (a, b) => Number(text(a)) - Number(text(b))
        : (a, b) => (text(a) === "") - (text(b) === "") ||
            text(a).localeCompare(text(b), "en", { numeric: true });
      rows.sort((a, b) => (down ? -1 : 1) * compare(a, b));
      body.replaceChildren(...rows);
    });
  });
})();
