// The engine heard: a low tone at the firing frequency whose loudness staggers with the unsteadiness. With the engine standing, the throttle's drive: a high
// tone while the blade moves. Off until somebody asks.
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
    this.drive = this.context.createOscillator();
    this.driveGain = this.context.createGain();
    this.driveGain.gain.value = 0;
    this.drive.connect(this.driveGain).connect(this.context.destination);
    this.drive.start();
    this.bladeDeg = NaN;
  }
  // Four-stroke: every cylinder fires once in two turns.
  follow(bench) {
    if (!this.context) return;
    const rpm = bench.now('speed_rpm'), sd = bench.now('speed_sd_rpm') || 0, at = this.context.currentTime;
    this.tone.frequency.setTargetAtTime(Math.max(1, rpm / 120 * this.cylinders), at, 0.03);
    const stagger = 1 + Math.min(0.8, sd / 40) * (Math.random() - 0.5);
    const moved = Math.abs(bench.now('blade_deg') - this.bladeDeg); // since a fifth of a second
    this.bladeDeg = bench.now('blade_deg');
    this.drive.frequency.setTargetAtTime(500 + 20 * Math.min(40, moved || 0), at, 0.02);
    this.driveGain.gain.setTargetAtTime(rpm < 50 && moved > 0.05 ? 0.04 : 0, at, 0.05);
    this.gain.gain.setTargetAtTime(rpm > 100 ? 0.12 * stagger : 0, at, 0.04);
  }
  stop() {
    if (this.context) this.context.close();
    this.context = null;
  }
}
