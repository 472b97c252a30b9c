/** What is said of a lost port begins with what to do where it can, and never quotes the system's own word for it. Error names: POSIX errno, as Node and node-serialport give them. */
import { expect, test } from "vitest";
import { goneWords, portTrouble } from "../../../../src/main/adapters/serial/port-trouble.ts";

const name = { whose: "Receiver", path: "/dev/ttyACM0", place: "sources.gnss.port" };

test.each([
  "bad file descriptor",
  "Bad file descriptor, cannot open /dev/ttyACM0",
  "EIO: i/o error, read",
  "EBADF",
  "ENXIO: no such device or address",
  "ENODEV",
])("%s is told as unplugged, with the remedy", (raw) => {
  for (const words of [portTrouble(name, new Error(raw)), goneWords(name, raw)]) {
    expect(words).toMatch(/\/dev\/ttyACM0/);
    expect(words).toMatch(/plug it in again/i);
    expect(words).not.toMatch(/descriptor|EIO|EBADF|ENXIO|ENODEV|i\/o/i);
  }
});

test("a reason that people understand stays", () => {
  expect(goneWords(name, "unplugged")).toBe("Receiver: /dev/ttyACM0 is gone (unplugged): plug it in again, it is opened by itself");
  expect(portTrouble(name, new Error("EACCES: permission denied"))).toContain("dialout");
});
