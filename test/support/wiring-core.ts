/** A wiring core over the tests' own clock, book, ears and sources, and asking it as a host does. */
import { createCore } from "../../src/main/core/core.ts";
import { gatesOf } from "../../src/main/core/judging/own-gates.ts";
import { createWiringCore } from "../../src/main/core/wiring/wiring-core.ts";
import type { WiringCore } from "../../src/main/core/wiring/wiring-core-parts.ts";
import type { SetUpStore } from "../../src/main/ports/set-up-desk.ts";
import { checkRequest, type CoreRequestName } from "../../src/shared/contract/contract.ts";

type Options = Parameters<typeof createWiringCore>[0];
type Given = Pick<Options, "book" | "clock" | "ears" | "makeSources"> & Partial<Pick<Options, "emit">> & { readonly store: SetUpStore };

export function createTestedWiringCore({ book, clock, store, ...given }: Given): WiringCore {
  return createWiringCore({
    emit: () => undefined,
    ...given,
    book,
    clock,
    store,
    simulated: null,
    makeCore: (parts) =>
      createCore({
        ...parts,
        clock,
        origin: "live",
        gates: gatesOf(parts.book),
        listPorts: async () => [],
        alwaysArmed: false,
        label: "",
        softwareVersion: "0",
      }),
    openOwn: () => ({ store, book }),
    lastCar: () => null,
  });
}

/** As a host does: checked where it comes in. */
export function askChecked(core: WiringCore, name: string, argument: unknown): Promise<unknown> {
  const checked = checkRequest(name, argument);
  return core.request(checked.name as CoreRequestName, checked.argument as never);
}
