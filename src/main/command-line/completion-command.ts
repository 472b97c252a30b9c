/**
 * `completion`: a script that lets bash complete commands and options, made from commander's own commands; everything else completes as file names do. It
 * starts no program and evaluates nothing of the line that is typed.
 */
import type { Command, Option } from "commander";
import { say, sayJson } from "./say.ts";

/** Words of our own commands. Anything else could mean something to the shell. */
const PLAIN = /^[\w@.-]+$/;

function plain(words: readonly string[]): string {
  const odd = words.find((word) => !PLAIN.test(word));
  if (odd !== undefined) throw new TypeError(`completion: ${JSON.stringify(odd)} is no plain word`);
  return words.join(" ");
}

const namesOf = ({ short, long }: Option): string[] => [short, long].filter((name) => typeof name === "string");
const takesValue = ({ required, optional }: Option): boolean => required || optional;

interface Shown {
  readonly name: string;
  readonly options: readonly Option[];
}

/** One line of `case`: the options of a command, and which of them a value follows. */
function branch({ name, options }: Shown): string {
  const valued = options.filter(takesValue).flatMap(namesOf);
  return `    ${name}) options='${plain(options.flatMap(namesOf))}'; valued='${plain(valued)}' ;;`;
}

/** The script for the program's name as people type it. */
export function bashCompletion(program: Command): string {
  const help = program.createHelp();
  const commands = help.visibleCommands(program).map((command) => ({ name: command.name(), options: help.visibleOptions(command) }));
  const name = plain([program.name()]);
  const shown = [...commands, { name: "''", options: help.visibleOptions(program) }];
  return `# bash completion of ${name}, written by: ${name} completion
_${name.replaceAll(/\W/g, "_")}() {
  local cur=\${COMP_WORDS[COMP_CWORD]} prev=\${COMP_WORDS[COMP_CWORD-1]} command= options= valued= word
  # --option=value is three words.
  if [[ $cur == = ]]; then cur=
  elif [[ $prev == = ]]; then prev=\${COMP_WORDS[COMP_CWORD-2]}
  fi
  for word in "\${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    case $word in ${commands.map((command) => plain([command.name])).join("|")}) command=$word; break ;; esac
  done
  case $command in
${shown.map(branch).join("\n")}
  esac
  COMPREPLY=()
  if [[ $prev == -* && " $valued " == *" $prev "* ]]; then return
  elif [[ $cur == -* ]]; then COMPREPLY=($(compgen -W "$options" -- "$cur"))
  elif [[ -z $command ]]; then COMPREPLY=($(compgen -W '${plain(commands.map((command) => command.name))}' -- "$cur"))
  fi
}
complete -o bashdefault -o default -F _${name.replaceAll(/\W/g, "_")} ${name}
`;
}

export function addCompletionCommand(program: Command): void {
  program
    .command("completion")
    .description("a script for bash that completes commands, options and file names: source <(gripbook completion)")
    .action((_options: unknown, command: Command) => {
      const script = bashCompletion(program);
      if (command.optsWithGlobals().json === true) return sayJson<"completion">({ shell: "bash", script });
      return say(script.trimEnd().split("\n"));
    });
}
