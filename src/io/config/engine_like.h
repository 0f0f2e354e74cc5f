/* What an engine file with `like = "four-16";` has that a whole one has not: the engine it starts from, and factors on that one's values.
 *
 *   like = "four-16";                            a shipped engine's name, else NAME.cfg beside the file; or a path seen from the file
 *   friction = { constant_bar = 0.5; };          what differs, as in a whole file
 *   scale: { throttle: { discharge_by_opening_deg = 1.1; }; };
 */
#ifndef IO_CONFIG_ENGINE_LIKE_H
#define IO_CONFIG_ENGINE_LIKE_H

#include "car/engine.h"
#include "io/config/config.h"
#include "io/config/find_file.h"

#define ENGINE_LIKE_KEY  "like"
#define ENGINE_SCALE_KEY "scale"

/* The files that are being read, each like the next before it. */
struct engine_like_link {
  const char *path;
  const struct engine_like_link *before; // NULL: the first
};

/* The file that `like` names; false, with a fault noted, if there is none, or if following it leads in a circle. chain ends with this file. */
MUST_CHECK bool engine_like_find(struct config *config, const struct engine_like_link *chain, char path[FIND_FILE_PATH_SIZE]);

/* Multiplies what the group `scale` names; faults are noted. A key that the file also gives a value cannot have a factor. */
void engine_like_scale(struct config *config, struct engine *engine, const char *hint);

#endif
