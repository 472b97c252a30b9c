/**
 * What a port's bytes come over, by its name as operating systems give it: a serial line, also one behind a USB bridge, or native USB.
 * Null where the name does not tell: a person then says it, or nothing is taken off. Common practice; the "-port0" of a serial driver's link from memory of systemd's rules.
 */
const UART = /^\/dev\/(tty(S|AMA|O|mxc|THS|USB)\d+|(tty|cu)\.usbserial.*|serial\/by-id\/.*-port\d+)$/;
const USB = /^\/dev\/(tty(ACM|GS)\d+|(tty|cu)\.usbmodem.*|serial\/by-id\/.*-if[0-9a-f]{2})$/;
/** What drivers and devices call themselves. */
const UART_WORDS = /\buart\b|usb[- ]?(to[- ]?)?serial|\bbridge\b/i;
const USB_WORDS = /\bcdc\b|\bacm\b/i;

/** `description`: what the system says of the device; empty where it says nothing. */
export function lineOfPort(path: string, description = ""): "uart" | "usb" | null {
  if (UART.test(path)) return "uart";
  if (USB.test(path)) return "usb";
  if (UART_WORDS.test(description)) return "uart";
  return USB_WORDS.test(description) ? "usb" : null;
}
