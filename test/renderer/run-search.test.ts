/** Find on Runs: words first, else the terms of Compare, answered by the book. */
import { expect, test } from "vitest";
import { createRunSearch } from "../../src/renderer/pages/runs/run-search.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

const row = (id: number, label: string) =>
  ({ id, label, note: "", use: true, final: true, courseDeg: null, startedAt: null, seconds: 5, flags: [] }) as unknown as RunRow;

function searching(answer: (where: readonly string[]) => Promise<readonly number[]>) {
  const asked: (readonly string[])[] = [];
  let runs: readonly RunRow[] = [row(1, "off"), row(2, "on"), row(3, "tc=on")];
  let news = 0;
  const frame = {
    runs: () => runs,
    fail(error: unknown) {
      throw error;
    },
    bridge: {
      async request(_: string, { where }: { where: string[] }) {
        asked.push(where);
        return answer(where);
      },
    },
  };
  const search = createRunSearch(frame as never, () => {
    news += 1;
  });
  const found = () => search.found().map(({ id }) => id);
  return {
    search,
    found,
    asked,
    news: () => news,
    change(next: readonly RunRow[]) {
      runs = next;
    },
    runs: () => runs,
  };
}

test("terms are answered by the book, words are not asked for, and a label that looks like a term is found as it stands", async () => {
  const { search, found, asked } = searching(async () => [2, 3]);
  await search.seek(" off ");
  expect([search.sought(), found(), asked]).toEqual(["off", [1], []]);
  await search.seek("tc=on");
  expect([found(), asked]).toEqual([[3], []]);
  await search.seek("surface=wet; day>=2031-05-04");
  expect([found(), asked]).toEqual([[2, 3], [["surface=wet", "day>=2031-05-04"]]]);
  await search.seek("");
  expect(found()).toEqual([1, 2, 3]);
});

test("bad terms say why, and what was sought before stays", async () => {
  const { search, found } = searching(async () => {
    throw new Error('No run has "srface"');
  });
  await search.seek("off");
  await expect(search.seek("srface=wet")).rejects.toThrow('No run has "srface"');
  expect([search.sought(), found()]).toEqual(["off", [1]]);
});

test("once the runs have changed, the terms are asked for again", async () => {
  const answers = [[1], [1, 4]];
  const { search, found, news, change, runs } = searching(async () => answers.shift() ?? []);
  await search.seek("surface=wet");
  change([...runs(), row(4, "on")]);
  expect(found()).toEqual([1]);
  await new Promise((done) => setImmediate(done));
  expect([found(), news()]).toEqual([[1, 4], 1]);
});
