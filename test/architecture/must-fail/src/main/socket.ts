/** Opens a connection and starts a program where it must not: the layers test expects both to be refused. */
export { spawn } from "node:child_process";
export { connect } from "node:net";
