// The board on the wall: runs the clock, and shows what the director's table does within a second.

import { HeatClock, face, follow } from "./clock.js";

const board = document.getElementById("board");
const clock = new HeatClock(JSON.parse(board.dataset.facts), Number(board.dataset.now));

function setText(node, text) {
  if (node && node.textContent !== text) node.textContent = text;
}

function tick() {
  if (clock.facts) {
    const now = clock.now();
    const phase = clock.phase(now);
    const word = board.querySelector("[data-board-phase]");
    if (word) setText(word, word.dataset[clock.isWarning(now) ? "warning" : phase]);
    const changeover = clock.changeoverLeft(now);
    let time = clock.left(now);
    if (phase === "countdown") time = clock.untilGreen(now);
    if (phase === "track_call") time = clock.left(now);
    if (["waiting", "closed"].includes(phase) && changeover > 0) time = changeover;
    setText(board.querySelector("[data-board-clock]"), face(time));
    board.classList.toggle("is-held", phase === "track_call");
  }
  setTimeout(tick, 100);
}

follow(board.dataset.feed, clock, board.dataset.version, {
  onNews: (news) => {
    clock.facts = news.clock;
    board.innerHTML = news.parts.board;
  },
  onTrouble: (isTrouble) => board.classList.toggle("is-cut-off", isTrouble),
});
tick();
