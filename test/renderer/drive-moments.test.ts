/** What the passenger is answered: one line at a time, each long enough, and all of it read to people who listen. Common practice, no source. */
import { expect, test } from "vitest";
import { createDriveMoments } from "../../src/renderer/pages/drive/drive-moments.ts";

test("of several corrections each has its part of the time, the last one last, and then the line is free again", () => {
  const heard: string[] = [];
  const cues = { play: () => undefined } as unknown as Parameters<typeof createDriveMoments>[0]["cues"];
  const moments = createDriveMoments({ announce: (words) => void heard.push(words), cues }, () => undefined);
  expect(moments.answered(performance.now())).toBeNull();
  const beforeMs = performance.now();
  moments.correct(["first", "second", "third"]);
  const afterMs = performance.now();
  expect(heard).toEqual(["first; second; third"]);
  const seen = [4900, 5100, 9900, 10_100, 14_900, 15_100].map(
    (ms, i) => moments.answered((i % 2 === 0 ? beforeMs : afterMs) + ms)?.words ?? null,
  );
  expect(seen).toEqual(["first", "second", "second", "third", "third", null]);
  moments.answer("Marked");
  expect(moments.answered(performance.now())).toEqual({ words: "Marked", isCorrection: false });
});
