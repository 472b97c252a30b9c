/**
 * Searches the bus's bit rate, only after the person confirmed that the car cannot drive. A search without success says so in the dialog.
 */
import type { SetUpEdited } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";

export function askBitrate(frame: Frame): void {
  const { bridge } = frame;
  const box = el("input", { type: "checkbox" });
  openAsking(
    {
      title: "Find the bus\u2019s bit rate",
      content: [
        el(
          "p",
          {},
          "Gripbook opens the adapter at each usual rate and only listens. An adapter at a wrong rate can still disturb a bus: the car must not be able to drive meanwhile.",
        ),
        el("label", { class: "row" }, box, "The drive is disabled, and the car stands still"),
      ],
      button: "Find bit rate",
      bridge,
      async act() {
        if (!box.checked) return "Confirm first that the drive is disabled";
        const answer = await bridge.request("wiring.bitrate", { driveDisabled: true });
        if (answer.bitrate === null) return answer.words;
        await frame.edit(answer.words, Promise.resolve(answer as SetUpEdited));
        return null;
      },
    },
    "Listening at one rate after the other\u2026",
  );
}
