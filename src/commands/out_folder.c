#include "commands/out_folder.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

bool out_folder(size_t size, char *path) {
  const char *home = getenv("HOME");
  const bool here = access("out", W_OK) == 0 || access(".", W_OK) == 0;
  const bool at_home = !here && home && home[0] == '/' && access(home, W_OK) == 0;
  snprintf(path, size, "%s%s", at_home ? home : "", at_home ? "/bladegap" : "out");
  return at_home;
}

void out_folder_choose(const struct command_line *line, size_t size, char *path) {
  if (options_given(line, "out"))
    snprintf(path, size, "%s", options_text(line, "out", ""));
  else
    (void)out_folder(size, path);
}

void out_folder_tell(const struct command_line *line, const char *folder) {
  char usual[8];
  if (line->json || line->quiet || options_given(line, "out") || !out_folder(sizeof usual, usual)) return;
  printf("\nThe current folder is not writable; the files are in %s\n", folder);
}
