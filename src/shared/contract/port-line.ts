/**
 * Whether a port is a serial line (also behind a USB bridge) or native USB, by its name in the operating system. Null where the name does
 * not show it: then a person says it, or nothing is subtracted. Common practice; the "-port0" in a serial driver's link from memory of
 * systemd's rules.
 */
const UART = /^\/dev\/(tty(S|AMA|O|mxc|THS|USB)\d+|(tty|cu)\.usbserial.*|serial\/by-id\/.*-port\d+)$/;
const USB = /^\/dev\/(tty(ACM|GS)\d+|(tty|cu)\.usbmodem.*|serial\/by-id\/.*-if[0-9a-f]{2})$/;
/** Words in the names of drivers and devices. */
const UART_WORDS = /\buart\b|usb[- ]?(to[- ]?)?serial|\bbridge\b/i;
const USB_WORDS = /\bcdc\b|\bacm\b/i;

/** `description`: the system's description of the device; empty where there is none. */
export function lineOfPort(path: string, description = ""): "uart" | "usb" | null {
  if (UART.test(path)) return "uart";
  if (USB.test(path)) return "usb";
  if (UART_WORDS.test(description)) return "uart";
  return USB_WORDS.test(description) ? "usb" : null;
}
