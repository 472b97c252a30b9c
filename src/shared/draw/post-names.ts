/**
 * Where the names of posts stand: each beside its own post, over no other post and no other name. Where a line has no room the next one is taken, and a
 * time goes under its name. What has no place at all is left out, unless `all` is asked for: then a name lies over a post rather than be lost. Pure.
 */

/** Clear of the next post and of the next name, px. */
const APART = 8;
/** Where there is no room for that: closer beside a post is easier to read than over it, or than no name. */
const LEAST_APART = 2;

export interface NamedPost {
  readonly x: number;
  readonly name: string;
  /** Stands after the name, or under it. */
  readonly time?: string;
}

export interface NamesPlace {
  readonly from: number;
  readonly to: number;
  /** Between a post and its name, px. */
  readonly away: number;
  /** Lines that names may stand in. */
  readonly lines: number;
  readonly all: boolean;
}

export interface PlacedName {
  /** One under the other. */
  readonly words: readonly string[];
  readonly x: number;
  /** Whether it stands left of its post and ends there. */
  readonly left: boolean;
  /** Of its first word, from 0. */
  readonly line: number;
}

interface Taken {
  readonly line: number;
  readonly from: number;
  readonly to: number;
}

/** Ways to say it, the fullest first. */
const sayings = ({ name, time }: NamedPost): (readonly string[])[] =>
  time === undefined ? [[name]] : [[`${name} ${time}`], [name, time], [name]];

/** One a post, in their order; null where it is left out. `posts` from left to right. */
export function placeNames(posts: readonly NamedPost[], place: NamesPlace, widthOf: (text: string) => number): (PlacedName | null)[] {
  const { from, to, away, lines, all } = place;
  const taken: Taken[] = [];
  /** `after`: where the next post is, less what the name keeps away from it. */
  const spots = (post: NamedPost, before: number, after: number): PlacedName | null => {
    for (const words of sayings(post)) {
      const width = Math.max(...words.map(widthOf));
      for (let line = 0; line + words.length <= lines; line += 1) {
        for (const left of [false, true]) {
          const [start, end] = left ? [post.x - away - width, post.x - away] : [post.x + away, post.x + away + width];
          if (start <= before || end > after) continue;
          const lies = taken.some(
            (other) => other.line >= line && other.line < line + words.length && other.to + APART > start && other.from - APART < end,
          );
          if (lies) continue;
          for (let under = 0; under < words.length; under += 1) taken.push({ line: line + under, from: start, to: end });
          return { words, x: left ? end : start, left, line };
        }
      }
    }
    return null;
  };
  return posts.map((post, i) => {
    const besides = (apart: number) => {
      const [last, next] = [posts[i - 1], posts[i + 1]];
      return spots(post, last === undefined ? from : last.x + apart, next === undefined ? to : next.x - apart);
    };
    return besides(APART) ?? besides(LEAST_APART) ?? (all ? spots(post, from, to) : null);
  });
}
