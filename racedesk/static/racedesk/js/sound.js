// Sounds of a heat, made here: no files. A browser lets a page sound only after somebody has touched it.

let context = null;

export function isOn() {
  return context !== null && context.state === "running";
}

export async function turnOn() {
  context ??= new AudioContext();
  // Before the first touch a browser leaves this waiting; it goes on by itself then.
  if (context.state !== "running") await Promise.race([context.resume(), new Promise((done) => setTimeout(done, 300))]);
  return isOn();
}

export async function turnOff() {
  if (context) await context.suspend();
}

// One tone: pitch in Hz, start and length in seconds from now.
function tone(pitch, start, length, volume = 0.35) {
  if (!isOn()) return;
  const at = context.currentTime + start;
  const voice = context.createOscillator();
  const gain = context.createGain();
  voice.type = "square";
  voice.frequency.value = pitch;
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(volume, at + 0.01);
  gain.gain.setValueAtTime(volume, at + length - 0.03);
  gain.gain.linearRampToValueAtTime(0, at + length);
  voice.connect(gain).connect(context.destination);
  voice.start(at);
  voice.stop(at + length);
}

export const sounds = {
  second: () => tone(440, 0, 0.15),
  green: () => tone(880, 0, 0.7),
  warning: () => [0, 0.25].forEach((start) => tone(660, start, 0.15)),
  end: () => tone(330, 0, 1.4),
  call: () => [0, 0.3, 0.6].forEach((start) => tone(start === 0.3 ? 520 : 740, start, 0.25)),
  changeover: () => [0, 0.2, 0.4].forEach((start) => tone(560, start, 0.1)),
};
