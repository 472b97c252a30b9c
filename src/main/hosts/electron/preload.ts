/**
 * The bridge under Electron: one named function for each request, checked before it leaves the page's process, and the events. Nothing of
 * Electron itself is exposed.
 */
import { contextBridge, type IpcRendererEvent, ipcRenderer } from "electron";
import { checkRequest, type CoreEvent, REQUESTS } from "../../../shared/contract/contract.ts";

type Answered = { readonly ok: true; readonly answer: unknown } | { readonly ok: false; readonly error: string };

async function ask(name: string, argument: unknown): Promise<unknown> {
  const checked = checkRequest(name, argument);
  const said = (await ipcRenderer.invoke("gripbook:request", checked.name, checked.argument)) as Answered;
  if (!said.ok) throw new Error(said.error);
  return said.answer;
}

contextBridge.exposeInMainWorld("gripbook", {
  requests: Object.fromEntries(Object.keys(REQUESTS).map((name) => [name, (argument: unknown) => ask(name, argument)])),
  shown: () => ipcRenderer.invoke("gripbook:shown"),
  onEvent(listener: (event: CoreEvent) => void) {
    const pass = (_: IpcRendererEvent, event: CoreEvent) => listener(event);
    ipcRenderer.on("gripbook:event", pass);
    return () => ipcRenderer.off("gripbook:event", pass);
  },
});
