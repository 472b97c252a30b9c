/** Asks a core as a host does: what it throws becomes a rejection. */
import type { Core } from "../../src/main/core/core.ts";
import type { Answerer, Answers, FixedRequestName, RequestArgument } from "../../src/shared/contract/contract.ts";

export async function ask<N extends FixedRequestName>(
  { answers }: Pick<Core, "answers">,
  name: N,
  argument: RequestArgument<N>,
): Promise<Answers[N]> {
  const answerer: Answerer<N> = answers[name];
  return answerer(argument);
}
