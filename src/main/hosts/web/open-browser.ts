/** Opens the system's browser at an address. Where there is none, or no screen, answers false: the caller prints the address. */
import { spawn } from "node:child_process";

const OPENERS: Readonly<Record<string, readonly string[]>> = {
  darwin: ["open"],
  win32: ["rundll32", "url.dll,FileProtocolHandler"],
};

export function openBrowser(address: string): Promise<boolean> {
  if (process.platform === "linux" && !process.env.DISPLAY && !process.env.WAYLAND_DISPLAY) return Promise.resolve(false);
  const [command, ...fixed] = OPENERS[process.platform] ?? ["xdg-open"];
  if (command === undefined) return Promise.resolve(false);
  return new Promise((resolve) => {
    const child = spawn(command, [...fixed, address], { stdio: "ignore", detached: true });
    child.once("error", () => resolve(false));
    child.once("spawn", () => {
      child.unref();
      resolve(true);
    });
  });
}
