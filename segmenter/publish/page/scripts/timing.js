// A run of timed steps (get ready, hold, rest, breathe) that can be paused. It reports, and decides nothing.
// steps: [{key, seconds}], seconds null = runs until it is ended.
function timedRun(steps, onTick, onEnd) {
  let step = 0;
  let passed = 0; // of this step, before the last pause
  let since = performance.now();
  let paused = false;
  let second = -1;
  const elapsed = () => passed + (paused ? 0 : (performance.now() - since) / 1000);
  const enter = (next, over) => {
    step = next;
    passed = over;
    since = performance.now();
    second = -1;
  };
  const look = () => {
    const { seconds } = steps[step];
    const now = elapsed();
    if (seconds !== null && now >= seconds) {
      if (step + 1 === steps.length) {
        clearInterval(timer);
        onEnd(steps[step], seconds);
        return;
      }
      enter(step + 1, 0);
      look();
      return;
    }
    const whole = Math.floor(now);
    onTick(steps[step], now, whole !== second);
    second = whole;
  };
  const timer = setInterval(() => { if (!paused) look(); }, 50);
  return {
    begin: look,
    stop() {
      clearInterval(timer);
      return { key: steps[step].key, seconds: elapsed() };
    },
    pause(yes) {
      if (yes === paused) return;
      if (yes) passed = elapsed();
      else since = performance.now();
      paused = yes;
    },
    get paused() { return paused; },
    get key() { return steps[step].key; },
  };
}
