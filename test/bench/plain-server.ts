/** The reference of a start: a Node program with one page and one socket, and nothing behind them. */
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { WebSocketServer } from "ws";

const PAGE = `<!doctype html><p>plain</p><script>new WebSocket("ws://" + location.host).onmessage = ({ data }) => { document.querySelector("p").textContent = data; };</script>`;
const server = createServer((_, response) => response.setHeader("Content-Type", "text/html").end(PAGE));
new WebSocketServer({ server }).on("connection", (socket) => socket.send("first"));
server.listen(0, "127.0.0.1", () => console.log(`http://127.0.0.1:${(server.address() as AddressInfo).port}/`));
process.on("SIGTERM", () => process.exit(0));
