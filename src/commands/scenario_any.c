#include "commands/scenario_any.h"

#include "io/config/data_folder.h"
#include "io/config/find_file.h"
#include "io/config/record_file.h"
#include "io/config/scenario_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NAME_SIZE = 64 };

static enum status find_engine(const char *path, struct scenario *scenario, struct error *error) {
  char near[FIND_FILE_PATH_SIZE], found[FIND_FILE_PATH_SIZE];
  if (!record_file_engine_is_name(scenario->engine_path)) {
    if (access(scenario->engine_path, R_OK) == 0) return STATUS_OK;
    return error_set(error, STATUS_BAD_CONFIG, "%s:1: the engine %.200s cannot be read: %s", path, scenario->engine_path,
                     strerror(errno));
  }
  if (find_file_shipped("models", scenario->engine_path, found)) {
    snprintf(scenario->engine_path, sizeof scenario->engine_path, "%s", found);
    return STATUS_OK;
  }
  const bool is_near = find_file_near("models", scenario->engine_path, near);
  return error_set(error, STATUS_BAD_CONFIG, "%s:1: no engine is called '%.60s'%s%.200s%s; bladegap list engines shows all", path,
                   scenario->engine_path, is_near ? "; did you mean '" : "", near, is_near ? "'?" : "");
}

enum status scenario_any_read(const char *word, char path[SCENARIO_PATH_SIZE], struct scenario *scenario, struct error *error) {
  scenario_init(scenario); // whatever happens, it can be destroyed
  enum status status = find_file("scenarios", word, path, error);
  if (status != STATUS_OK) return status;
  if (!record_file_is(path)) return scenario_file_read(path, scenario, error);
  status = record_file_read(path, scenario, error);
  return status == STATUS_OK ? find_engine(path, scenario, error) : status;
}

void scenario_any_engine(const char *engine_path, char engine[SCENARIO_PATH_SIZE]) {
  struct error ignored;
  error_clear(&ignored);
  struct data_folder_files files;
  char *real = realpath(engine_path, NULL);
  snprintf(engine, SCENARIO_PATH_SIZE, "%s", real ? real : engine_path);
  if (real && data_folder_list("models", &files, &ignored) == STATUS_OK) {
    for (size_t i = 0; i < files.count; i++) {
      char *model = realpath(files.paths[i], NULL), name[NAME_SIZE];
      find_file_stem(files.paths[i], sizeof name, name);
      if (model && strcmp(model, real) == 0) snprintf(engine, SCENARIO_PATH_SIZE, "%s", name);
      free(model);
    }
    data_folder_release(&files);
  }
  free(real);
}
