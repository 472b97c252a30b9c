/**
 * Reads an MCAP file from the specification alone (mcap.dev/spec, version 0), with Node's own Zstandard and CRC-32: a second reader, which shares
 * no code with @mcap/core. Throws where the bytes are not what the specification says.
 */
import assert from "node:assert/strict";
import { crc32, zstdDecompressSync } from "node:zlib";

const MAGIC = Buffer.from([0x89, 0x4d, 0x43, 0x41, 0x50, 0x30, 0x0d, 0x0a]);
const OP = { footer: 0x02, schema: 0x03, channel: 0x04, message: 0x05, chunk: 0x06, metadata: 0x0c, dataEnd: 0x0f } as const;

interface ReadMessage {
  readonly topic: string;
  readonly logTime: bigint;
  readonly text: string;
}

export interface ReadMcap {
  readonly schemas: ReadonlyMap<number, { readonly name: string; readonly encoding: string; readonly text: string }>;
  readonly channels: ReadonlyMap<number, { readonly topic: string; readonly encoding: string; readonly schema: number }>;
  readonly messages: readonly ReadMessage[];
  readonly metadata: ReadonlyMap<string, ReadonlyMap<string, string>>;
  readonly chunks: number;
}

interface Taken {
  readonly op: number;
  readonly at: number;
  readonly body: Buffer;
}

function* records(bytes: Buffer): Generator<Taken> {
  for (let at = 0; at < bytes.length; ) {
    const size = Number(bytes.readBigUInt64LE(at + 1));
    assert(at + 9 + size <= bytes.length, `record at ${at} is longer than what holds it`);
    yield { op: bytes.readUInt8(at), at, body: bytes.subarray(at + 9, at + 9 + size) };
    at += 9 + size;
  }
}

/** Takes fields off a record one after the other. */
function fields(body: Buffer) {
  let at = 0;
  const take = (size: number) => {
    at += size;
    return body.subarray(at - size, at);
  };
  const u32 = () => take(4).readUInt32LE();
  const text = () => take(u32()).toString("utf8");
  const map = () => {
    const inside = fields(take(u32()));
    const pairs = new Map<string, string>();
    while (inside.left() > 0) pairs.set(inside.text(), inside.text());
    return pairs;
  };
  return { u16: () => take(2).readUInt16LE(), u32, u64: () => take(8).readBigUInt64LE(), text, map, take, left: () => body.length - at };
}

function chunkContent(body: Buffer): Buffer {
  const chunk = fields(body);
  chunk.u64();
  chunk.u64();
  const [size, sum, compression] = [Number(chunk.u64()), chunk.u32(), chunk.text()];
  const stored = chunk.take(Number(chunk.u64()));
  assert(compression === "zstd" || compression === "", `compression ${compression}`);
  const content = compression === "zstd" ? zstdDecompressSync(stored) : stored;
  assert.equal(content.length, size);
  assert.equal(crc32(content), sum);
  return content;
}

export function readMcap(bytes: Buffer): ReadMcap {
  assert.deepEqual(bytes.subarray(0, 8), MAGIC);
  assert.deepEqual(bytes.subarray(-8), MAGIC);
  const [schemas, channels, metadata] = [new Map(), new Map(), new Map<string, ReadonlyMap<string, string>>()];
  const messages: ReadMessage[] = [];
  let chunks = 0;
  const read = ({ op, at, body }: Taken) => {
    const from = fields(body);
    if (op === OP.schema) schemas.set(from.u16(), { name: from.text(), encoding: from.text(), text: from.text() });
    else if (op === OP.channel) channels.set(from.u16(), { schema: from.u16(), topic: from.text(), encoding: from.text() });
    else if (op === OP.message) {
      const { topic } = channels.get(from.u16());
      from.u32();
      const logTime = from.u64();
      assert.equal(from.u64(), logTime, "publish time");
      messages.push({ topic, logTime, text: from.take(from.left()).toString("utf8") });
    } else if (op === OP.metadata) metadata.set(from.text(), from.map());
    else if (op === OP.chunk) {
      chunks += 1;
      for (const inside of records(chunkContent(body))) read(inside);
    } else if (op === OP.dataEnd) assert.equal(crc32(bytes.subarray(0, 8 + at)), from.u32(), "CRC of the data section");
    else if (op === OP.footer) {
      const summaryStart = Number(from.u64());
      from.u64();
      // Up to the sum itself.
      assert.equal(crc32(bytes.subarray(summaryStart, 8 + at + 9 + 16)), from.u32(), "CRC of the summary");
    }
  };
  for (const record of records(bytes.subarray(8, -8))) read(record);
  return { schemas, channels, messages, metadata, chunks };
}
