/**
 * Short sounds, and spoken words where the passenger wants them; each is also shown. None of them means go. Browsers stay silent until the
 * first key or click; that is not an error.
 */

export type Cue = "count" | "armed" | "ready" | "gate" | "done" | "aborted" | "lost";

/** Tone steps: [Hz, s]. Rising for what begins, falling for what ends; all equally loud. */
const CUES: Readonly<Record<Cue, readonly (readonly [number, number])[]>> = {
  // Every second sounds the same, and nothing sounds at the end: the passenger gives the all-clear.
  count: [[520, 0.06]],
  armed: [[440, 0.12]],
  ready: [
    [440, 0.1],
    [660, 0.18],
  ],
  gate: [[880, 0.09]],
  done: [
    [660, 0.12],
    [440, 0.2],
  ],
  aborted: [
    [330, 0.18],
    [220, 0.3],
  ],
  lost: [
    [220, 0.12],
    [220, 0.12],
    [220, 0.12],
  ],
};

/** Spoken words; counting and lost sources have only their sounds, as words would come too late. */
const WORDS: Readonly<Partial<Record<Cue, string>>> = { ready: "Ready", done: "Done", aborted: "Aborted" };

export interface Cues {
  /** `words` are spoken instead of the cue's own, such as a gate and its time. */
  play(cue: Cue, words?: string): void;
  on: boolean;
  /** Words too; silent where the browser has no voice. */
  speech: boolean;
}

export function createCues(): Cues {
  let audio: AudioContext | null = null;
  return {
    on: true,
    speech: false,
    play(cue, words = WORDS[cue]) {
      if (this.speech && words !== undefined && "speechSynthesis" in window) {
        // A late word is wrong: the newest cue silences the one before.
        window.speechSynthesis.cancel();
        window.speechSynthesis.speak(new SpeechSynthesisUtterance(words));
      }
      // Without a key or click no browser plays sound; an audio context made before would only cause a warning.
      if (!this.on || !navigator.userActivation.hasBeenActive) return;
      audio ??= new AudioContext({ latencyHint: "interactive" });
      let at = audio.currentTime + 0.01;
      for (const [hertz, seconds] of CUES[cue]) {
        const tone = audio.createOscillator();
        const level = audio.createGain();
        tone.frequency.value = hertz;
        level.gain.setValueAtTime(0, at);
        level.gain.linearRampToValueAtTime(0.4, at + 0.01);
        level.gain.setValueAtTime(0.4, at + seconds - 0.02);
        level.gain.linearRampToValueAtTime(0, at + seconds);
        tone.connect(level).connect(audio.destination);
        tone.start(at);
        tone.stop(at + seconds);
        at += seconds + 0.05;
      }
    },
  };
}
