/** Turns a system error about a serial port into one line that names the port and the remedy. Never fails. */
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** `whose` is the device's name for people ("Receiver", "CAN adapter"), `place` says where its port is set. */
export interface PortName {
  readonly whose: string;
  readonly path: string;
  readonly place: string;
}

/** How systems name a device that went away while its port was in use. */
const UNPLUGGED = /EBADF|bad file descriptor|EIO|i\/o error|input\/output|ENXIO|no such device|ENODEV/i;

/** The device behind an open port is gone; `why` as the port gave it. */
export const goneWords = ({ whose, path }: PortName, why: string): string =>
  `${whose}: ${path} is gone${UNPLUGGED.test(why) ? "" : ` (${why})`}: plug it in again, it is opened by itself`;

export function portTrouble({ whose, path, place }: PortName, error: unknown): string {
  const why = wordsOf(error);
  if (/ENOENT|No such file|File not found|cannot find the file/i.test(why)) {
    return `${whose}: port ${path} is not there: plug the device in, or correct ${place} in the set-up (\`ports\` lists what is there)`;
  }
  if (UNPLUGGED.test(why)) return `${whose}: ${path} was unplugged: plug it in again, it is opened by itself`;
  if (/EACCES|Permission denied/i.test(why)) {
    return `${whose}: no permission for ${path}: run \`sudo usermod -aG dialout $USER\` (group uucp on some systems), then log out and in`;
  }
  if (/lock|EBUSY|busy|Access denied/i.test(why)) {
    return `${whose}: ${path} is held by another program: close that program, it is tried again`;
  }
  if (/ENOTTY|Inappropriate ioctl|not a tty|EINVAL/i.test(why)) {
    return `${whose}: ${path} is no serial port: correct ${place} in the set-up (\`ports\` lists what is there)`;
  }
  return `${whose}: ${path} cannot be opened (${why}): unplug it and plug it in again, it is tried again`;
}
