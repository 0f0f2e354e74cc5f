/* Puts new values into an engine file, all else as it stands. */
#ifndef DOCS_MAKE_REWRITE_ENGINE_FILE_H
#define DOCS_MAKE_REWRITE_ENGINE_FILE_H

#include <stdbool.h>

/* Replaces what stands between "key =" and ";" in the group of "group.key", or adds the key to the group. False if the file has no such
 * group or cannot be written. */
bool rewrite_engine_file(const char *path, const char *name, const char *value);

#endif
