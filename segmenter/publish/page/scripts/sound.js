// A soft tick and a spoken count, each only if chosen.
let sounds = null;

function softTick(high = false) {
  if (!choice("tick", false) || !window.AudioContext) return;
  sounds ??= new AudioContext();
  const now = sounds.currentTime;
  const tone = sounds.createOscillator();
  const volume = sounds.createGain();
  tone.frequency.value = high ? 880 : 587;
  // A slow attack keeps the tick from clicking, also in a hearing aid.
  volume.gain.setValueAtTime(0, now);
  volume.gain.linearRampToValueAtTime(0.12, now + 0.02);
  volume.gain.exponentialRampToValueAtTime(0.001, now + 0.22);
  tone.connect(volume).connect(sounds.destination);
  tone.start(now);
  tone.stop(now + 0.25);
}

const canSpeak = () => "speechSynthesis" in window;

function speak(text) {
  if (!choice("voice", false) || !canSpeak()) return;
  window.speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(text);
  words.lang = language;
  window.speechSynthesis.speak(words);
}

function hush() {
  if (canSpeak()) window.speechSynthesis.cancel();
}
