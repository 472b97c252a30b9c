/** Messages to and from the estimator's thread, as plain data. Packets that came before a message are sent with it, in order. */
import type { EstimatorWork } from "../../../shared/pipeline/live-estimator.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";

type Asked = { [K in keyof EstimatorWork]: { readonly name: K; readonly argument: Parameters<EstimatorWork[K]>[0] } }[keyof EstimatorWork];

export type ToEstimator = { readonly packets: readonly Packet[] } & (
  | { readonly kind: "packets" }
  | { readonly kind: "reopen"; readonly stream: Packet["stream"] }
  | ({ readonly kind: "ask"; readonly id: number } & Asked)
);

export type FromEstimator =
  | { readonly id: number; readonly ok: true; readonly answer: unknown }
  | { readonly id: number; readonly ok: false; readonly error: string };
