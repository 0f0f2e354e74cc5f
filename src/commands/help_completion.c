/* Completion for bash and zsh, from the tables of commands and options. What a word may be follows from the name that help gives it
 * (word_rows). */
#include "commands/command.h"
#include "commands/help.h"

#include <string.h>

const char *const help_shells[] = {"bash", "zsh", NULL};

/* What to offer for an operand or an option's argument. Columns: what its name in the help text contains; the bash function that
 * offers it, or NULL for files; the action of zsh's _arguments. The first row that fits counts. */
static const struct word_row {
  const char *contains, *bash, *zsh;
} word_rows[] = {
    {"COMMAND", "_bladegap_commands", "_bladegap_commands"},
    {"ENGINE|SCENARIO", "_bladegap_engines _bladegap_scenarios", "_bladegap_engines_scenarios"},
    {"SCENARIO", "_bladegap_scenarios", "_bladegap_scenarios"},
    {"ENGINE", "_bladegap_engines", "_bladegap_engines"},
    {"NAME=VALUE@CONDITION", "_bladegap_readings", "_bladegap_readings"},
    {"CAUSE=", "_bladegap_causes", "_bladegap_causes"},
    {"NAME=FACTOR", NULL, ""}, // parameters of an engine file
    {"NAME=yes|no", NULL, ""},
    {"NAME=VALUE,", NULL, "_files"},
    {"NAME=", "_bladegap_faults", "_bladegap_faults"},
    {"DIR", NULL, "_files -/"},
    {"FILE", NULL, "_files"},
    {"CARD", NULL, "_files"},
    {"LOG", NULL, "_files"},
    {".csv", NULL, "_files"},
    {"", NULL, ""}, // a number or a word of the user's own
};

static const struct word_row *word_find(const char *name) {
  const struct word_row *row = word_rows;
  while (!strstr(name, row->contains)) row++;
  return row;
}

static void put_choices(FILE *stream, const char *const *choices) {
  for (size_t i = 0; choices[i]; i++) fprintf(stream, "%s%s", i ? " " : "", choices[i]);
}

/* ---- bash ---- */

static const char bash_begin[] = "# bash completion for bladegap; made by: bladegap help --completion bash\n"
                                 "_bladegap_names() { # kind, column: the names that the program lists\n"
                                 "  \"${COMP_WORDS[0]}\" list \"$1\" --json 2>/dev/null |\n"
                                 "    sed -nE 's|.*\"'\"$2\"'\": \"([^\"]*/)?([^\"]*)\".*|\\2|p' | sed 's|\\.cfg$||'\n"
                                 "}\n"
                                 "_bladegap_engines() { _bladegap_names engines file; }\n"
                                 "_bladegap_scenarios() { _bladegap_names scenarios file; }\n"
                                 "_bladegap_before_equals() { _bladegap_names \"$1\" name | sed 's|$|=|'; }\n"
                                 "_bladegap_faults() { _bladegap_before_equals faults; }\n"
                                 "_bladegap_readings() { _bladegap_before_equals readings; }\n"
                                 "_bladegap_causes() { _bladegap_before_equals causes; }\n";

static const char bash_middle[] = "_bladegap() {\n"
                                  "  local word=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}\n"
                                  "  local options='' operands='' from='' source\n"
                                  "  COMPREPLY=()\n"
                                  "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
                                  "    COMPREPLY=($(compgen -W \"--help --version $(_bladegap_commands)\" -- \"$word\"))\n"
                                  "    return\n"
                                  "  fi\n"
                                  "  case $previous$word in # --option=value comes as three words\n"
                                  "    --*=) previous=${previous%=} word='' ;;\n"
                                  "    =*) previous=${COMP_WORDS[COMP_CWORD - 2]} ;;\n"
                                  "  esac\n"
                                  "  case ${COMP_WORDS[1]} in\n";

static const char bash_end[] = "  esac\n"
                               "  case $word in\n"
                               "    -*) ;;\n"
                               "    *)\n"
                               "      options=$operands\n"
                               "      for source in $from; do options+=\" $($source)\"; done\n"
                               "      ;;\n"
                               "  esac\n"
                               "  COMPREPLY=($(compgen -W \"$options\" -- \"$word\"))\n"
                               "  if [[ ${COMPREPLY[0]} == *= ]]; then compopt -o nospace 2>/dev/null; fi\n"
                               "}\n"
                               "complete -o default -F _bladegap bladegap\n";

/* The words that may stand in a place: choices, or what a function offers. */
static void bash_words(FILE *stream, const char *const *choices, const char *name) {
  fputs("operands='", stream);
  if (choices) put_choices(stream, choices);
  fprintf(stream, "' from='%s'", !choices && word_find(name)->bash ? word_find(name)->bash : "");
}

static void bash_command(FILE *stream, const struct command *command) {
  fprintf(stream, "    %s)\n      options='", command->name);
  for (size_t i = 0; i < command->option_count; i++) fprintf(stream, "--%s ", command->options[i].name);
  for (size_t i = 0; i < options_common_count; i++)
    fprintf(stream, "--%s%s", options_common_rows[i].name, i + 1 < options_common_count ? " " : "'\n      ");
  bash_words(stream, command->operand_choices, command->operands);
  if (command->option_count > 0) fputs("\n      case $previous in\n", stream);
  for (size_t i = 0; i < command->option_count; i++) {
    const struct option_row *row = &command->options[i];
    if (row->kind == OPTION_FLAG) continue;
    fprintf(stream, "        --%s) options='' ", row->name);
    bash_words(stream, row->kind == OPTION_CHOICE ? row->choices : NULL, row->argument);
    fputs(" ;;\n", stream);
  }
  fputs(command->option_count > 0 ? "      esac\n      ;;\n" : "\n      ;;\n", stream);
}

static void bash(FILE *stream) {
  fputs(bash_begin, stream);
  fputs("_bladegap_commands() { echo", stream);
  for (size_t i = 0; i < command_count; i++) fprintf(stream, " %s", command_rows[i]->name);
  fputs("; }\n", stream);
  fputs(bash_middle, stream);
  for (size_t i = 0; i < command_count; i++) bash_command(stream, command_rows[i]);
  fputs(bash_end, stream);
}

/* ---- zsh ---- */

static const char zsh_begin[] =
    "#compdef bladegap\n"
    "# zsh completion for bladegap; made by: bladegap help --completion zsh\n"
    "_bladegap_names() { # kind, column: the names that the program lists\n"
    "  reply=(${(f)\"$(_call_program names ${(q)_bladegap_program} list $1 --json 2>/dev/null |\n"
    "    sed -nE 's|.*\"'\"$2\"'\": \"([^\"]*/)?([^\"]*)\".*|\\2|p' | sed 's|\\.cfg$||')\"})\n"
    "}\n"
    "_bladegap_engines() { local -a reply; _bladegap_names engines file; compadd -a reply; _files }\n"
    "_bladegap_scenarios() { local -a reply; _bladegap_names scenarios file; compadd -a reply; _files }\n"
    "_bladegap_engines_scenarios() { _bladegap_engines; _bladegap_scenarios }\n"
    "_bladegap_before_equals() {\n"
    "  local -a reply\n"
    "  compset -P '*=' && return 1\n"
    "  _bladegap_names $1 name\n"
    "  compadd -S = -a reply\n"
    "}\n"
    "_bladegap_faults() { _bladegap_before_equals faults }\n"
    "_bladegap_readings() { _bladegap_before_equals readings }\n"
    "_bladegap_causes() { _bladegap_before_equals causes }\n";

static const char zsh_middle[] = "_bladegap() {\n"
                                 "  local _bladegap_program=$words[1]\n"
                                 "  if (( CURRENT == 2 )); then\n"
                                 "    _bladegap_commands\n"
                                 "    compadd -- --help --version\n"
                                 "    return\n"
                                 "  fi\n"
                                 "  local command=$words[2]\n"
                                 "  shift words\n"
                                 "  (( CURRENT-- ))\n"
                                 "  case $command in\n";

/* A sentence of the tables, in single quotes and as part of a specification. */
static void zsh_text(FILE *stream, const char *text) {
  for (; *text; text++) {
    if (*text == '\'')
      fputs("'\\''", stream);
    else
      fprintf(stream, "%s%c", strchr("[]:\\", *text) ? "\\" : "", *text);
  }
}

/* ":NAME:action" of an operand or an argument. */
static void zsh_words(FILE *stream, const char *const *choices, const char *name) {
  putc(':', stream);
  zsh_text(stream, *name ? name : " ");
  putc(':', stream);
  if (choices) {
    putc('(', stream);
    put_choices(stream, choices);
    putc(')', stream);
  } else {
    fputs(*word_find(name)->zsh ? word_find(name)->zsh : " ", stream);
  }
}

static void zsh_options(FILE *stream, const struct option_row *rows, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const struct option_row *row = &rows[i];
    fprintf(stream, " \\\n        '%s--%s%s[", row->repeats ? "*" : "", row->name, row->kind == OPTION_FLAG ? "" : "=");
    zsh_text(stream, row->text);
    putc(']', stream);
    if (row->kind != OPTION_FLAG) zsh_words(stream, row->kind == OPTION_CHOICE ? row->choices : NULL, row->argument);
    putc('\'', stream);
  }
}

static void zsh_command(FILE *stream, const struct command *command) {
  fprintf(stream, "    %s)\n      _arguments", command->name);
  zsh_options(stream, command->options, command->option_count);
  zsh_options(stream, options_common_rows, options_common_count);
  if (*command->operands) {
    fputs(" \\\n        '*", stream);
    zsh_words(stream, command->operand_choices, command->operands);
    putc('\'', stream);
  }
  fputs("\n      ;;\n", stream);
}

static void zsh(FILE *stream) {
  fputs(zsh_begin, stream);
  fputs("_bladegap_commands() {\n  local -a commands=(\n", stream);
  for (size_t i = 0; i < command_count; i++) {
    fprintf(stream, "    '%s:", command_rows[i]->name);
    zsh_text(stream, command_rows[i]->text);
    fputs("'\n", stream);
  }
  fputs("  )\n  _describe command commands\n}\n", stream);
  fputs(zsh_middle, stream);
  for (size_t i = 0; i < command_count; i++) zsh_command(stream, command_rows[i]);
  fputs("  esac\n}\n_bladegap \"$@\"\n", stream);
}

void help_completion(FILE *stream, size_t shell) {
  if (shell == 0)
    bash(stream);
  else
    zsh(stream);
}
