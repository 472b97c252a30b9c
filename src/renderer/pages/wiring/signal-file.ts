/** Asks the person for a signal file on this machine and reads it, whatever its encoding. Null when none was chosen. */
import { decodeFileText } from "../../../shared/dbc/text-encoding.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";

export async function askFile(frame: Frame): Promise<{ name: string; text: string } | null> {
  const input = el("input", { type: "file", accept: ".dbc,.DBC" });
  const file = await new Promise<File | null>((resolve) => {
    input.addEventListener("change", () => resolve(input.files?.[0] ?? null));
    input.addEventListener("cancel", () => resolve(null));
    input.click();
  });
  if (file === null) return null;
  try {
    return { name: file.name, text: decodeFileText(new Uint8Array(await file.arrayBuffer())) };
  } catch (error) {
    frame.fail(error);
    return null;
  }
}
