/* Any words behind any command, parsed and not run. What must hold: a refusal has its sentence, and numbers that are taken are in their range. */
#include "commands/command.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

enum { WORDS_MOST = 64 };

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  if (size < 1) return 0;
  const struct command *command = command_rows[bytes[0] % command_count];
  char *text = malloc(size + 1), *words[WORDS_MOST + 1];
  int count = 0;
  assert(text);
  memcpy(text, bytes + 1, size - 1);
  text[size - 1] = '\0';
  for (char *at = text; at < text + size - 1 && count < WORDS_MOST; at += strcspn(at, "\n") + 1) words[count++] = at;
  for (char *at = text; at < text + size - 1; at++)
    if (*at == '\n') *at = '\0';
  words[count] = NULL;
  struct command_line line;
  struct error error;
  error_clear(&error);
  if (options_parse(command, count, words, &line, &error) != STATUS_OK) assert(error.text[0] != '\0');
  options_destroy(&line);
  free(text);
  return 0;
}
