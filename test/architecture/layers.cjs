// The house's import rules, one line each. Run by test/architecture/layers.test.ts.
const STAGES = ["kernel", "setup", "frames", "dbc", "signals", "receiver", "align", "launch", "run", "pipeline", "wiring", "judge", "tune", "draw", "report", "contract"];
/** The core's rooms, from what all use to what uses all; core.ts itself stands between recording and wiring. */
const CORE = ["basics", "library", "judging", "deriving", "recording", "core\\.ts", "wiring"];
/** The screens' rooms, from below: pages never import each other, and main.ts starts the app. */
const SCREENS = ["(bridge|draw|sound)", "live", "screen", "(figures|edits)", "pages", "app", "main\\.ts"];
const rule = (name, from, to) => ({ name, severity: "error", from, to });
const upstreamOnly = STAGES.slice(0, -1).map((stage, i) =>
  rule(`${stage}-looks-upstream-only`, { path: `^src/shared/${stage}/` }, { path: `^src/shared/(${STAGES.slice(i + 1).join("|")}|simulation)/` }),
);
/** Each room of a list may import only itself and those before it. */
const upwards = (base, rooms) =>
  rooms.slice(0, -1).map((room, i) => rule(`${base}${room}-looks-down-only`, { path: `^${base}${room}` }, { path: `^${base}(${rooms.slice(i + 1).join("|")})` }));
module.exports = {
  forbidden: [
    ...upstreamOnly,
    ...upwards("src/main/core/", CORE),
    ...upwards("src/renderer/", SCREENS),
    rule("pages-never-see-each-other", { path: "^src/renderer/pages/([^/]+)/" }, { path: "^src/renderer/pages/", pathNot: "^src/renderer/pages/$1/" }),
    rule("shared-imports-only-shared", { path: "^src/shared/", pathNot: "^src/shared/(frames|setup|contract)/" }, { pathNot: "^src/shared/" }),
    rule("frames-may-add-nmea-simple", { path: "^src/shared/frames/" }, { pathNot: "^src/shared/|^node_modules/nmea-simple/" }),
    rule("edges-may-add-valibot", { path: "^src/shared/(setup|contract)/" }, { pathNot: "^src/shared/|^node_modules/valibot/" }),
    rule("simulation-emits-bytes-only", { path: "^src/shared/simulation/" }, { path: "^src/shared/", pathNot: "^src/shared/(kernel|setup|simulation)/" }),
    rule("nobody-in-shared-needs-the-simulation", { path: "^src/shared/", pathNot: "^src/shared/simulation/" }, { path: "^src/shared/simulation/" }),
    rule("renderer-sees-shared-only", { path: "^src/renderer/", pathNot: "vite\\.config\\.ts$|^src/renderer/build/" }, { pathNot: "^src/(renderer|shared)/|^node_modules/(chart\\.js|@fontsource|uqr)/|^docs/handbook/README\\.md$" }),
    rule("the-build-sees-shared-and-its-tools", { path: "^src/renderer/build/" }, { path: "^src/|^node_modules/", pathNot: "^src/(renderer/build|shared)/|^node_modules/(marked|vite)/" }),
    // The screens take the type of the handbook alone: what parses Markdown stays outside of them.
    rule("screens-never-see-their-build", { path: "^src/renderer/", pathNot: "vite\\.config\\.ts$|^src/renderer/build/" }, { path: "^src/renderer/build/", dependencyTypesNot: ["type-only"] }),
    rule("ports-see-shared-only", { path: "^src/main/ports/" }, { pathNot: "^src/(main/ports|shared)/" }),
    rule("core-sees-ports-and-shared", { path: "^src/main/core/" }, { pathNot: "^src/(main/core|main/ports|shared)/" }),
    rule("adapters-never-see-core", { path: "^src/main/adapters/" }, { path: "^src/main/(core|hosts|compose|command-line)" }),
    rule("hosts-go-through-compose", { path: "^src/main/hosts/" }, { path: "^src/main/adapters/" }),
    rule("disk-knows-no-other-room", { path: "^src/main/disk/" }, { path: "^src/", pathNot: "^src/(main/disk|shared)/" }),
    rule("one-file-holds-serial-ports", { path: "^src/", pathNot: "^src/main/adapters/serial/serial-line\\.ts$" }, { path: "(^|node_modules/)(serialport|@serialport/[^/]+)($|/)" }),
    rule("adapter-lines-only-where-they-are-begun", { path: "^src/", pathNot: "^src/main/adapters/serial/" }, { path: "^src/main/adapters/serial/serial-line\\.ts$" }),
    rule("one-file-opens-connections-and-one-holds-udp-ports", { path: "^src/", pathNot: "^src/main/(adapters/network/(tcp-line|udp-line|udp-senders)\\.ts$|hosts/)" }, { path: "^(node:)?(net|dgram|tls|http|https|http2|ws)$|(^|node_modules/)ws($|/)" }),
    rule("network-lines-only-where-they-are-read", { path: "^src/", pathNot: "^src/main/adapters/network/" }, { path: "^src/main/adapters/network/(tcp-line|udp-line|udp-senders)\\.ts$" }),
    rule("programs-are-started-by-hosts-and-named-adapters", { path: "^src/", pathNot: "^src/main/(hosts/|adapters/(host/host-state|socketcan/(candump-line|interface-state))\\.ts$)" }, { path: "^(node:)?(child_process|cluster)$" }),
    rule("electron-only-in-its-host", { pathNot: "^src/main/hosts/electron/" }, { path: "(^|node_modules/)electron($|/)" }),
    rule("no-cycles", {}, { circular: true }),
    rule("nothing-unresolved", { path: "^src/" }, { couldNotResolve: true }),
  ],
  options: { parser: "swc", tsPreCompilationDeps: true, doNotFollow: { path: "node_modules" },
    // Vite exports no "require" entry, so the resolver must look where an import looks.
    enhancedResolveOptions: { exportsFields: ["exports"], conditionNames: ["import", "require", "node", "default", "types"] } },
};
