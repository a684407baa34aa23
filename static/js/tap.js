// Arrow keys go from cell to cell of the tap test; space marks one. Without this file Tab does.
"use strict";

document.addEventListener("keydown", (event) => {
  const box = event.target.closest(".tap input");
  const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (!box || !step) return;
  const cell = box.closest("td");
  const rows = cell.closest("table").rows;
  let column = cell.cellIndex;
  let row = cell.parentNode.rowIndex;
  event.preventDefault();
  // Openings have no box: go on past them.
  for (;;) {
    column += step[0];
    row += step[1];
    const next = rows[row]?.cells[column];
    if (!next) return;
    const found = [...next.querySelectorAll("input")].find((input) => input.name === box.name);
    if (found) {
      found.focus();
      return;
    }
  }
});
