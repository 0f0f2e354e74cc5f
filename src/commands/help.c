#include "commands/help.h"

#include "base/status.h"
#include "commands/command.h"
#include "io/format/text.h"

#include <string.h>

static const char purpose[] = "how a deposit in a throttle bore starves an idling engine of air";

static const char description[] =
    "Computes, from the geometry of the gap between blade and bore, the air an idling engine gets, what its "
    "idle-speed "
    "controller makes of it, what it learns, and which fault codes are set, and why others are not.\n\n"
    "It is a teaching model. The vehicle maker's service information, local rules and a qualified technician "
    "decide.";

/* Columns: variable, meaning. */
static const struct {
  const char *name, *text;
} environment_rows[] = {
    {"BLADEGAP_DATA", "folder that holds models and scenarios, in place of the one the program came with"},
    {"NO_COLOR", "honoured: the program prints no colours on a terminal"},
};

void help_version(FILE *stream) { fprintf(stream, "bladegap %s\n", BLADEGAP_VERSION); }

/* "--out DIR" of a row. */
static void option_usage(char *text, size_t size, const struct option_row *row) {
  snprintf(text, size, "--%s%s%s", row->name, row->argument ? " " : "", row->argument ? row->argument : "");
}

/* The sentence of a row, with its range, choices and whether it repeats. */
static void option_text(char *text, size_t size, const struct option_row *row) {
  int used = snprintf(text, size, "%s", row->text);
  if (row->kind == OPTION_REAL || row->kind == OPTION_COUNT)
    used += snprintf(text + used, size - (size_t)used, " (%.10g to %.10g)", row->min, row->max);
  for (size_t i = 0; row->kind == OPTION_CHOICE && row->choices[i]; i++)
    used +=
        snprintf(text + used, size - (size_t)used, "%s%s%s", i ? ", " : " (", row->choices[i], row->choices[i + 1] ? "" : ")");
  if (row->repeats) snprintf(text + used, size - (size_t)used, "; may be given several times");
}

enum { OPTION_TEXT_SIZE = 1024, OPTION_USAGE_SIZE = 80, HELP_COLUMN = 30 };

/* Prints "  left<blanks>right", the right part wrapped from the column on; a long left part has its own line. */
static void entry(FILE *stream, size_t column, const char *left, const char *right) {
  const size_t width = 2 + strlen(left);
  fprintf(stream, "  %s", left);
  if (width + 2 > column) {
    fprintf(stream, "\n%*s", (int)column, "");
  } else {
    fprintf(stream, "%*s", (int)(column - width), "");
  }
  text_wrap(stream, column, right);
}

static void print_options(FILE *stream, const struct option_row *rows, size_t count) {
  char usage[OPTION_USAGE_SIZE], text[OPTION_TEXT_SIZE];
  for (size_t i = 0; i < count; i++) {
    option_usage(usage, sizeof usage, &rows[i]);
    option_text(text, sizeof text, &rows[i]);
    entry(stream, HELP_COLUMN, usage, text);
  }
}

void help_overview(FILE *stream) {
  fprintf(stream, "bladegap: %s\n\nusage: bladegap COMMAND [OPTION ...] [OPERAND ...]\n\ncommands\n", purpose);
  char left[OPTION_USAGE_SIZE];
  for (size_t i = 0; i < command_count; i++) {
    const struct command *command = command_rows[i];
    snprintf(left, sizeof left, "%s %s", command->name, command->operands);
    entry(stream, HELP_COLUMN, left, command->text);
  }
  fputs("\nevery command takes\n", stream);
  print_options(stream, options_common_rows, options_common_count);
  fputs("\nmore\n", stream);
  entry(stream, HELP_COLUMN, "bladegap help COMMAND", "what one command does and its options");
  entry(stream, HELP_COLUMN, "bladegap help --man", "the manual page, as roff");
  entry(stream, HELP_COLUMN, "bladegap help --completion", "completion for bash; source it");
  entry(stream, HELP_COLUMN, "bladegap list exit-codes", "what the exit codes mean");
  entry(stream, HELP_COLUMN, "bladegap --version", "the version");
  putc('\n', stream);
  text_paragraphs(stream, 0, description);
}

void help_command(FILE *stream, const struct command *command) {
  const bool operands = *command->operands != '\0';
  fprintf(stream, "bladegap %s: %s\n\nusage: bladegap %s [OPTION ...]%s%s\n", command->name, command->text, command->name,
          operands ? " " : "", command->operands);
  if (command->details) {
    putc('\n', stream);
    text_paragraphs(stream, 0, command->details);
  }
  fputs("\noptions\n", stream);
  print_options(stream, command->options, command->option_count);
  print_options(stream, options_common_rows, options_common_count);
}

/* ---- manual page: man(7) macros ---- */

/* Text with what roff would take for its own escaped. */
static void roff(FILE *stream, const char *text, size_t size) {
  for (size_t i = 0; i < size; i++) {
    const bool line_start = i == 0 || text[i - 1] == '\n';
    if (line_start && (text[i] == '.' || text[i] == '\'')) fputs("\\&", stream);
    if (text[i] == '\\') {
      fputs("\\e", stream);
    } else if (text[i] == '-') {
      fputs("\\-", stream);
    } else {
      putc(text[i], stream);
    }
  }
}

static void roff_text(FILE *stream, const char *text) { roff(stream, text, strlen(text)); }

static void roff_entry(FILE *stream, const char *left, const char *right) {
  fputs(".TP\n.B ", stream);
  roff_text(stream, left);
  putc('\n', stream);
  roff_text(stream, right);
  putc('\n', stream);
}

/* Paragraphs as in text_paragraphs; lines with two leading blanks become examples. */
static void roff_paragraphs(FILE *stream, const char *paragraphs) {
  bool example = false;
  for (const char *at = paragraphs; *at;) {
    const bool verbatim = strncmp(at, "  ", 2) == 0;
    const char *end = strstr(at, verbatim ? "\n" : "\n\n");
    if (!end) end = at + strlen(at);
    if (example && !verbatim) fputs(".fi\n", stream);
    if (!example || !verbatim) fputs(verbatim ? ".PP\n.nf\n" : ".PP\n", stream);
    roff(stream, at, (size_t)(end - at));
    putc('\n', stream);
    example = verbatim;
    at = end + strspn(end, "\n");
  }
  if (example) fputs(".fi\n", stream);
}

static void roff_options(FILE *stream, const struct option_row *rows, size_t count) {
  char usage[OPTION_USAGE_SIZE], text[OPTION_TEXT_SIZE];
  for (size_t i = 0; i < count; i++) {
    option_usage(usage, sizeof usage, &rows[i]);
    option_text(text, sizeof text, &rows[i]);
    roff_entry(stream, usage, text);
  }
}

void help_man(FILE *stream) {
  fprintf(stream, ".TH BLADEGAP 1 \"\" \"bladegap %s\" \"User commands\"\n.SH NAME\nbladegap \\- %s\n", BLADEGAP_VERSION,
          purpose);
  fputs(".SH SYNOPSIS\n.B bladegap\n.I command\n[\\fIoption\\fR ...] [\\fIoperand\\fR ...]\n.SH DESCRIPTION\n", stream);
  roff_paragraphs(stream, description);
  fputs(".SH COMMANDS\n", stream);
  for (size_t i = 0; i < command_count; i++) {
    const struct command *command = command_rows[i];
    fprintf(stream, ".SS ");
    roff_text(stream, command->name);
    fprintf(stream, "%s", *command->operands ? " " : "");
    roff_text(stream, command->operands);
    fputs("\n", stream);
    roff_text(stream, command->text);
    fputs(".\n", stream);
    if (command->details) roff_paragraphs(stream, command->details);
    roff_options(stream, command->options, command->option_count);
  }
  fputs(".SH OPTIONS\nEvery command takes:\n", stream);
  roff_options(stream, options_common_rows, options_common_count);
  fputs(".SH EXIT STATUS\n", stream);
  for (int i = 0; i < STATUS_COUNT; i++) {
    char code[16];
    snprintf(code, sizeof code, "%d", status_exit_code((enum status)i));
    roff_entry(stream, code, status_text((enum status)i));
  }
  fputs(".SH ENVIRONMENT\n", stream);
  for (size_t i = 0; i < ARRAY_COUNT(environment_rows); i++)
    roff_entry(stream, environment_rows[i].name, environment_rows[i].text);
}

/* ---- bash completion ---- */

static void print_choices(FILE *stream, const char *const *choices) {
  for (size_t i = 0; choices[i]; i++) fprintf(stream, "%s%s", i ? " " : "", choices[i]);
}

static void completion_case(FILE *stream, const struct command *command) {
  fprintf(stream, "    %s)\n      options='", command->name);
  for (size_t i = 0; i < command->option_count; i++) fprintf(stream, "--%s ", command->options[i].name);
  for (size_t i = 0; i < options_common_count; i++) fprintf(stream, "--%s ", options_common_rows[i].name);
  fputs("'\n", stream);
  if (command->operand_choices) {
    fputs("      operands='", stream);
    print_choices(stream, command->operand_choices);
    fputs("'\n", stream);
  }
  if (command->option_count > 0) fputs("      case $previous in\n", stream);
  for (size_t i = 0; i < command->option_count; i++) {
    const struct option_row *row = &command->options[i];
    if (row->kind == OPTION_FLAG) continue;
    fprintf(stream, "        --%s) options=''; operands='", row->name);
    if (row->kind == OPTION_CHOICE) print_choices(stream, row->choices);
    fputs("' ;;\n", stream);
  }
  if (command->option_count > 0) fputs("      esac\n", stream);
  fputs("      ;;\n", stream);
}

void help_completion(FILE *stream) {
  fputs("# bash completion for bladegap; made by: bladegap help --completion\n"
        "_bladegap() {\n"
        "  local word=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]} options='' operands=''\n"
        "  COMPREPLY=()\n"
        "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
        "    COMPREPLY=($(compgen -W '--help --version",
        stream);
  for (size_t i = 0; i < command_count; i++) fprintf(stream, " %s", command_rows[i]->name);
  fputs("' -- \"$word\"))\n    return\n  fi\n  case ${COMP_WORDS[1]} in\n", stream);
  for (size_t i = 0; i < command_count; i++) completion_case(stream, command_rows[i]);
  fputs("  esac\n"
        "  case $word in\n"
        "    -*) COMPREPLY=($(compgen -W \"$options\" -- \"$word\")) ;;\n"
        "    *) COMPREPLY=($(compgen -W \"$operands\" -- \"$word\")) ;;\n"
        "  esac\n"
        "}\n"
        "complete -o default -F _bladegap bladegap\n",
        stream);
}
