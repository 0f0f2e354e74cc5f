#include "commands/scenario_any.h"

#include "base/near_miss.h"
#include "commands/data_folder.h"
#include "io/config/record_file.h"
#include "io/config/scenario_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NAME_SIZE = 64, MODELS_MOST = 64 };

/* "four-16" of "models/four-16.cfg". */
static void model_name(const char *path, char name[NAME_SIZE]) {
  const char *slash = strrchr(path, '/');
  snprintf(name, NAME_SIZE, "%s", slash ? slash + 1 : path);
  name[strcspn(name, ".")] = '\0';
}

static enum status fault_model(const char *path, const char *wanted, const struct data_folder_files *files, struct error *error) {
  char names[MODELS_MOST][NAME_SIZE];
  const char *list[MODELS_MOST];
  size_t count = 0;
  for (; count < files->count && count < MODELS_MOST; count++) {
    model_name(files->paths[count], names[count]);
    list[count] = names[count];
  }
  const char *near = near_miss_best(wanted, list, count);
  return error_set(error, STATUS_BAD_CONFIG, "%s:1: no engine is called '%.60s'%s%s%s; bladegap list engines shows all", path,
                   wanted, near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

static enum status find_engine(const char *path, struct scenario *scenario, struct error *error) {
  if (!record_file_engine_is_name(scenario->engine_path)) {
    if (access(scenario->engine_path, R_OK) == 0) return STATUS_OK;
    return error_set(error, STATUS_BAD_CONFIG, "%s:1: the engine %.200s cannot be read: %s", path, scenario->engine_path,
                     strerror(errno));
  }
  struct data_folder_files files;
  enum status status = data_folder_list("models", &files, error);
  if (status != STATUS_OK) return status;
  status = STATUS_NO;
  for (size_t i = 0; i < files.count && status == STATUS_NO; i++) {
    char name[NAME_SIZE];
    model_name(files.paths[i], name);
    if (strcmp(name, scenario->engine_path) != 0) continue;
    snprintf(scenario->engine_path, sizeof scenario->engine_path, "%s", files.paths[i]);
    status = STATUS_OK;
  }
  if (status == STATUS_NO) status = fault_model(path, scenario->engine_path, &files, error);
  data_folder_release(&files);
  return status;
}

enum status scenario_any_read(const char *path, struct scenario *scenario, struct error *error) {
  if (!record_file_is(path)) return scenario_file_read(path, scenario, error);
  const enum status status = record_file_read(path, scenario, error);
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
      model_name(files.paths[i], name);
      if (model && strcmp(model, real) == 0) snprintf(engine, SCENARIO_PATH_SIZE, "%s", name);
      free(model);
    }
    data_folder_release(&files);
  }
  free(real);
}
