// The engine heard: a low tone at the firing frequency whose loudness staggers with the unsteadiness. Off until somebody asks.
'use strict';
class EngineSound {
  start(cylinders) {
    this.context = new (window.AudioContext || window.webkitAudioContext)();
    this.cylinders = cylinders;
    this.tone = this.context.createOscillator();
    this.tone.type = 'sawtooth';
    this.low = this.context.createBiquadFilter();
    this.low.frequency.value = 260;
    this.gain = this.context.createGain();
    this.gain.gain.value = 0;
    this.tone.connect(this.low).connect(this.gain).connect(this.context.destination);
    this.tone.start();
  }
  // Four-stroke: every cylinder fires once in two turns.
  follow(bench) {
    if (!this.context) return;
    const rpm = bench.now('speed_rpm'), sd = bench.now('speed_sd_rpm') || 0, at = this.context.currentTime;
    this.tone.frequency.setTargetAtTime(Math.max(1, rpm / 120 * this.cylinders), at, 0.03);
    const stagger = 1 + Math.min(0.8, sd / 40) * (Math.random() - 0.5);
    this.gain.gain.setTargetAtTime(rpm > 100 ? 0.12 * stagger : 0, at, 0.04);
  }
  stop() {
    if (this.context) this.context.close();
    this.context = null;
  }
}
