#include "commands/help.h"

#include "base/status.h"
#include "commands/command.h"
#include "io/format/text.h"

#include <string.h>

static const char purpose[] = "how a deposit in a throttle bore starves an idling engine of air";

static const char description[] =
    "Computes, from the geometry of the gap between blade and bore, the air that an idling engine gets, how its idle-speed "
    "controller reacts, what it learns, which fault codes set, and why others do not.\n\nIt is a teaching model. The vehicle "
    "maker's service information, local rules and a qualified technician decide.";

/* Columns: variable, meaning. */
static const struct {
  const char *name, *text;
} environment_rows[] = {
    {"BLADEGAP_DATA", "folder with models and scenarios, instead of the one that came with the program"},
    {"HOME", "results go to the folder bladegap in it if no --out is given and the current folder is not writable"},
    {"NO_COLOR", "if set, the program prints no colours on a terminal"},
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
  entry(stream, HELP_COLUMN, "bladegap help --completion bash", "completion for bash, or zsh");
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

enum { ROFF_COLUMNS = 78 }; // longer lines are hard to read as source; only tools look at that

/* A character with what roff would take for its own escaped. */
static size_t roff_char(FILE *stream, char c) {
  if (c != '\\' && c != '-') return putc(c, stream) == EOF ? 0 : 1;
  fputs(c == '-' ? "\\-" : "\\e", stream);
  return 2;
}

static void roff_line_start(FILE *stream, char first) {
  if (first == '.' || first == '\'') fputs("\\&", stream);
}

/* Text as it stands, without breaking a line. */
static void roff(FILE *stream, const char *text, size_t size) {
  for (size_t i = 0; i < size; i++) {
    if (i == 0 || text[i - 1] == '\n') roff_line_start(stream, text[i]);
    roff_char(stream, text[i]);
  }
}

/* Text to be filled: a line ends with a sentence, which roff then parts from the next as it should, or where it gets long. */
static void roff_fill(FILE *stream, const char *text, size_t size) {
  size_t column = 0;
  bool ended = false;
  for (size_t i = 0; i < size;) {
    i += strspn(text + i, " \n");
    size_t length = i < size ? strcspn(text + i, " \n") : 0;
    if (length > size - i) length = size - i;
    if (length == 0) break;
    if (column > 0 && (ended || column + length >= ROFF_COLUMNS)) column = 0, putc('\n', stream);
    if (column == 0)
      roff_line_start(stream, text[i]);
    else
      column += roff_char(stream, ' ');
    for (size_t k = 0; k < length; k++) column += roff_char(stream, text[i + k]);
    i += length;
    ended = strchr(".?!", text[i - 1]) || (length > 1 && text[i - 1] == ')' && strchr(".?!", text[i - 2]));
  }
}

static void roff_text(FILE *stream, const char *text) { roff_fill(stream, text, strlen(text)); }

static void roff_entry(FILE *stream, const char *left, const char *right) {
  fputs(".TP\n.B ", stream);
  roff(stream, left, strlen(left));
  putc('\n', stream);
  roff_text(stream, right);
  putc('\n', stream);
}

/* Paragraphs as in text_paragraphs; lines with two leading blanks become examples. First: they stand right below a heading. */
static void roff_paragraphs(FILE *stream, const char *paragraphs, bool first) {
  bool example = false;
  for (const char *at = paragraphs; *at;) {
    const bool verbatim = strncmp(at, "  ", 2) == 0;
    const char *end = strstr(at, verbatim ? "\n" : "\n\n");
    if (!end) end = at + strlen(at);
    if (example && !verbatim) fputs(".fi\n", stream);
    if ((!example || !verbatim) && !(first && at == paragraphs)) fputs(".PP\n", stream);
    if (!example && verbatim) fputs(".nf\n", stream);
    if (verbatim)
      roff(stream, at, (size_t)(end - at));
    else
      roff_fill(stream, at, (size_t)(end - at));
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
  fprintf(stream, ".TH BLADEGAP 1 %s \"bladegap %s\" \"User commands\"\n.SH NAME\nbladegap \\- %s\n", BLADEGAP_RELEASED,
          BLADEGAP_VERSION, purpose);
  fputs(".SH SYNOPSIS\n.B bladegap\n.I command\n[\\fIoption\\fR ...] [\\fIoperand\\fR ...]\n.SH DESCRIPTION\n", stream);
  roff_paragraphs(stream, description, true);
  fputs(".SH COMMANDS\n", stream);
  for (size_t i = 0; i < command_count; i++) {
    const struct command *command = command_rows[i];
    fprintf(stream, ".SS ");
    roff(stream, command->name, strlen(command->name));
    fprintf(stream, "%s", *command->operands ? " " : "");
    roff(stream, command->operands, strlen(command->operands));
    fputs("\n", stream);
    roff_text(stream, command->text);
    fputs(".\n", stream);
    if (command->details) roff_paragraphs(stream, command->details, false);
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
