// The week: drag a visit to another day or person, or move it with Shift and the arrow keys. Each card is a form that
// works without this.
(() => {
  const put = (card, cell) => {
    card.querySelector("[name=on_date]").value = cell.dataset.day;
    card.querySelector("[name=to_person]").value = cell.dataset.person;
    sessionStorage.setItem("week-card", card.dataset.visit.split("-")[0] + "-" + (cell.dataset.person || "0"));
    card.requestSubmit();
  };
  let held = null;
  document.addEventListener("dragstart", (event) => {
    held = event.target.closest?.(".visit-card");
    if (held) event.dataTransfer.setData("text/plain", held.dataset.visit);
  });
  const cellOf = (event) => (held ? event.target.closest?.("td[data-day]") : null);
  document.addEventListener("dragover", (event) => {
    const cell = cellOf(event);
    if (!cell) return;
    event.preventDefault();
    document.querySelectorAll("td.over").forEach((one) => one.classList.toggle("over", one === cell));
    cell.classList.add("over");
  });
  document.addEventListener("drop", (event) => {
    const cell = cellOf(event);
    if (!cell) return;
    event.preventDefault();
    if (cell !== held.closest("td")) put(held, cell);
  });
  document.addEventListener("dragend", () => {
    document.querySelectorAll("td.over").forEach((one) => one.classList.remove("over"));
    held = null;
  });
  const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };
  document.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step || !event.shiftKey || !event.target.matches?.(".visit-card")) return;
    const cell = event.target.closest("td");
    const row = cell.parentElement.parentElement.rows[cell.parentElement.sectionRowIndex + step[0]];
    const next = row?.cells[cell.cellIndex + step[1]];
    if (!next?.dataset.day) return;
    event.preventDefault();
    put(event.target, next);
  });
  // After the week came back, stand on the card that was moved.
  document.addEventListener("htmx:afterSwap", () => {
    const key = sessionStorage.getItem("week-card");
    document.querySelector(`.visit-card[data-visit="${CSS.escape(key || "")}"]`)?.focus();
  });
})();
