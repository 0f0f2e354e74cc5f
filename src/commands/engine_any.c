#include "commands/engine_any.h"

#include "io/config/engine_file.h"
#include "io/config/engine_good.h"
#include "io/config/find_file.h"

enum status engine_any_read(const char *word, struct engine *engine, struct error *error) {
  char path[FIND_FILE_PATH_SIZE];
  const enum status status = find_file("models", word, path, error);
  return status == STATUS_OK ? engine_file_read(path, engine, error) : status;
}

enum status engine_any_good(const char *word, struct estimate_readings_input *input, struct error *error) {
  char path[FIND_FILE_PATH_SIZE];
  const enum status status = find_file("models", word, path, error);
  return status == STATUS_OK ? engine_good_read(path, input, error) : status;
}
