/** The port that Enter takes without a choice: only where there is nothing to choose. */
import { expect, test } from "vitest";
import { onlyPort } from "../../src/renderer/pages/wiring/pick-port.ts";

const port = (path: string, receiverBaud: number | null, talks = "silent") => ({ path, description: "", talks, receiverBaud, line: null });
const receiver = port("/dev/r", 9600, "NMEA 0183 at 9600 baud");

test("the only receiver, and the only port that carries none, are taken; the port set up before stays where it is still right", () => {
  expect(onlyPort([receiver, port("/dev/a", null)], "gnss", "")).toBe("/dev/r");
  expect(onlyPort([receiver, port("/dev/a", null)], "gnss", "/dev/gone")).toBe("/dev/r");
  expect(onlyPort([receiver, port("/dev/a", null)], "gnss", "/dev/r")).toBeNull();
  expect(onlyPort([receiver, port("/dev/a", null)], "can", "")).toBe("/dev/a");
  expect(onlyPort([port("/dev/r", null, "in use here"), port("/dev/a", null)], "can", "")).toBe("/dev/a");
  expect(onlyPort([port("/dev/a", null), port("/dev/b", null)], "can", "")).toBeNull();
  expect(onlyPort([], "gnss", "")).toBeNull();
});
