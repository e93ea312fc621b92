// A light that keeps the pace of single discharges. Silent unless asked: people listen for the spark.

/// Starts the light: `show(lit)` is called at each beat. Returns a function that stops it.
export function pace(interval_s, show, sound) {
  const period = Math.max(0.2, Number(interval_s) || 1) * 1000;
  let dark = null;
  const beat = () => {
    show(true);
    clearTimeout(dark);
    dark = setTimeout(() => show(false), Math.min(250, period / 2));
    if (sound()) click();
  };
  beat();
  const timer = setInterval(beat, period);
  return () => {
    clearInterval(timer);
    clearTimeout(dark);
    show(false);
  };
}

let audio = null;

function click() {
  audio ||= new AudioContext();
  const tone = audio.createOscillator(), level = audio.createGain();
  tone.frequency.value = 880;
  level.gain.setValueAtTime(0.05, audio.currentTime);
  level.gain.exponentialRampToValueAtTime(0.0001, audio.currentTime + 0.06);
  tone.connect(level).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + 0.07);
}
