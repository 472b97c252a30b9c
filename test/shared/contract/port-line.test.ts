/** What ports' names tell: as Linux and macOS name them (common practice; kernel documentation, admin-guide/devices.txt: ttyS, ttyUSB, ttyACM, ttyAMA). */
import { expect, test } from "vitest";
import { lineOfPort } from "../../../src/shared/contract/port-line.ts";

test.each([
  ["/dev/ttyACM0", "usb"],
  ["/dev/ttyGS1", "usb"],
  ["/dev/tty.usbmodem14201", "usb"],
  ["/dev/serial/by-id/usb-receiver_0001-if00", "usb"],
  ["/dev/ttyS0", "uart"],
  ["/dev/ttyAMA0", "uart"],
  ["/dev/ttyUSB12", "uart"],
  ["/dev/cu.usbserial-1410", "uart"],
  ["/dev/serial/by-id/usb-adapter_0001-if00-port0", "uart"],
  ["/dev/pts/3", null],
  ["COM3", null],
  ["", null],
  ["/tmp/ttyACM0x", null],
] as const)("%s: %s", (path, line) => expect(lineOfPort(path)).toBe(line));

test("where the name does not tell, what the device calls itself may", () => {
  expect(lineOfPort("COM3", "USB to UART bridge 10c4:ea60")).toBe("uart");
  expect(lineOfPort("COM4", "CDC device")).toBe("usb");
  expect(lineOfPort("COM5", "receiver")).toBeNull();
  // The port's name counts more than the words.
  expect(lineOfPort("/dev/ttyACM0", "USB to UART bridge")).toBe("usb");
});
