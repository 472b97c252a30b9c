/** The number of a process that a test started. Throws where none was: a signal to 0 goes to the test's own group (POSIX, kill()). */
export function started(pid: number | undefined): number {
  if (pid === undefined || pid === 0) throw new Error("Expected a process, none was started");
  return pid;
}
