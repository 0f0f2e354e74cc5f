#include "commands/out_folder.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

void out_folder(size_t size, char *path) {
  const char *home = getenv("HOME");
  const bool here = access("out", W_OK) == 0 || access(".", W_OK) == 0;
  if (!here && home && home[0] == '/' && access(home, W_OK) == 0)
    snprintf(path, size, "%s/bladegap", home);
  else
    snprintf(path, size, "out");
}
