/**
 * Notices within a second that the book's file was moved, deleted, replaced or linked while recording, reports it, and makes the book
 * continue in a new file beside it. What cannot be copied is tried again and reported each time.
 */
import type { Book } from "../../ports/book.ts";
import { lineOf } from "../basics/failure.ts";

const LOOK_NS = 0.5e9;
const AGAIN_NS = 5e9;

export interface BookWatch {
  beat(nowNs: number): void;
  /** The last check: when this returns, the book is complete in some file. Throws BookError when that is not possible. */
  finish(): void;
}

export function createBookWatch({ book, tell }: { book: Book; tell: (text: string) => void }): BookWatch {
  let nextNs = Number.NEGATIVE_INFINITY;
  let copying = false;
  let toldNames = false;

  const gone = (file: string) => `Book ${file} IS NO LONGER THERE: it was moved, deleted or replaced while recording`;
  const tellWhere = (was: string) => tell(`${gone(was)}. Everything, this recording too, is in ${book.file}, and goes on there.`);

  return {
    beat(nowNs) {
      if (copying || nowNs < nextNs) return;
      nextNs = nowNs + LOOK_NS;
      const where = book.whereabouts();
      if (where === "twoNames" && !toldNames)
        tell(`Book ${book.file} HAS GOT A SECOND NAME (a hard link): open it by neither while this records, and delete the other.`);
      toldNames = where === "twoNames";
      if (where !== "gone") return;
      const was = book.file;
      copying = true;
      tell(`${gone(was)}. Gripbook still holds it: it is being copied to a new file, and the recording goes on.`);
      void book
        .goOnBeside()
        .then(() => {
          if (book.file !== was) tellWhere(was);
        })
        .catch((error: unknown) => {
          nextNs = nowNs + AGAIN_NS;
          tell(`${gone(was)}, and no copy could be made: ${lineOf(error)}. All is lost when Gripbook ends: free some space now.`);
        })
        .finally(() => {
          copying = false;
        });
    },
    finish() {
      if (book.whereabouts() !== "gone") return;
      const was = book.file;
      book.goOnBesideNow();
      tellWhere(was);
    },
  };
}
