/** Some of a long list, evenly over all of it and in its order; a list of `most` or fewer is returned as it is. */
export const evenly = <T>(all: readonly T[], most: number): readonly T[] =>
  all.length <= most ? all : Array.from({ length: most }, (_, i) => all[Math.floor((i * all.length) / most)] as T);
