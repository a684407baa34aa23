// Turns the list of players into buttons that compare: pressing another goes on at the same place. Without this file
// the plain players do.
"use strict";

(() => {
  const step = document.querySelector("[data-level-step]");
  if (!step) return;
  const reference = step.querySelector("audio");
  const said = step.querySelector("[role=status]");
  const every = document.querySelectorAll("[data-level-step] audio, [data-noise] audio");
  const SECONDS_TO_SET = 2;
  let isSet = sessionStorage.getItem("level-set") === "yes";

  reference.addEventListener("timeupdate", () => {
    if (isSet || reference.currentTime < SECONDS_TO_SET) return;
    isSet = true;
    sessionStorage.setItem("level-set", "yes");
    said.textContent = "Once it is as loud as talk a metre away, stop it and listen below.";
  });

  function playOnly(audio) {
    for (const other of every) if (other !== audio) other.pause();
    audio.play().catch(() => { said.textContent = "This browser cannot play it."; });
  }

  function press(audio, noise) {
    if (!audio.paused) { audio.pause(); return; }
    if (!isSet) {
      said.textContent = "Set the level first: play this for a moment.";
      reference.focus();
      reference.scrollIntoView({ block: "center" });
      return;
    }
    const playing = [...noise.querySelectorAll("audio")].find((other) => !other.paused);
    if (playing) audio.currentTime = playing.currentTime;
    playOnly(audio);
  }

  for (const noise of document.querySelectorAll("[data-noise]")) {
    for (const item of noise.querySelectorAll("li")) {
      const audio = item.querySelector("audio");
      const button = document.createElement("button");
      button.type = "button";
      button.className = "clip";
      button.setAttribute("aria-pressed", "false");
      button.append(...item.querySelectorAll("span"));
      const state = document.createElement("span");
      state.className = "clip-state";
      state.textContent = "Play";
      button.append(state);
      audio.controls = false;
      audio.hidden = true;
      item.prepend(button);
      button.addEventListener("click", () => press(audio, noise));
      audio.addEventListener("play", () => { button.setAttribute("aria-pressed", "true"); state.textContent = "Stop"; });
      audio.addEventListener("pause", () => { button.setAttribute("aria-pressed", "false"); state.textContent = "Play"; });
    }
  }
  for (const audio of every) audio.addEventListener("play", () => playOnly(audio));
})();
