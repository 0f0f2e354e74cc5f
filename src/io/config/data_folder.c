#include "io/config/data_folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool has_folder(const char *base, const char *subfolder, char path[DATA_FOLDER_PATH_SIZE]) {
  struct stat about;
  const int size = snprintf(path, DATA_FOLDER_PATH_SIZE, "%s/%s", base, subfolder);
  return size < DATA_FOLDER_PATH_SIZE && stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

static enum status find(const char *subfolder, char path[DATA_FOLDER_PATH_SIZE], struct error *error) {
  const char *chosen = getenv("BLADEGAP_DATA");
  if (chosen && *chosen) {
    if (has_folder(chosen, subfolder, path)) return STATUS_OK;
    return error_set(error, STATUS_NO_INPUT, "BLADEGAP_DATA is '%s', and there is no folder '%s' in it", chosen, subfolder);
  }
  const char *bases = BLADEGAP_DATA_DIRS; // parted by colons
  while (*bases) {
    char base[DATA_FOLDER_PATH_SIZE];
    const size_t size = strcspn(bases, ":");
    snprintf(base, sizeof base, "%.*s", (int)size, bases);
    if (has_folder(base, subfolder, path)) return STATUS_OK;
    bases += size + (bases[size] == ':');
  }
  return error_set(error, STATUS_NO_INPUT, "no folder '%s' in any of %s; set BLADEGAP_DATA to the folder that has it", subfolder,
                   BLADEGAP_DATA_DIRS);
}

static int is_config(const struct dirent *entry) {
  const char *ending = strrchr(entry->d_name, '.');
  return entry->d_name[0] != '.' && ending && strcmp(ending, ".cfg") == 0;
}

enum status data_folder_list(const char *subfolder, struct data_folder_files *files, struct error *error) {
  *files = (struct data_folder_files){0};
  char folder[DATA_FOLDER_PATH_SIZE];
  const enum status status = find(subfolder, folder, error);
  if (status != STATUS_OK) return status;
  struct dirent **entries = NULL;
  const int count = scandir(folder, &entries, is_config, alphasort);
  if (count < 0) return error_set(error, STATUS_NO_INPUT, "%s: %s", folder, strerror(errno));
  files->paths = calloc((size_t)count + 1, sizeof *files->paths);
  bool complete = files->paths != NULL;
  for (int i = 0; i < count; i++) {
    if (complete && asprintf(&files->paths[files->count], "%s/%s", folder, entries[i]->d_name) >= 0) {
      files->count++;
    } else {
      complete = false;
    }
    free(entries[i]);
  }
  free(entries);
  if (complete) return STATUS_OK;
  data_folder_release(files);
  return error_set(error, STATUS_NO_MEMORY, "%s: no memory left for its list of files", folder);
}

void data_folder_release(struct data_folder_files *files) {
  for (size_t i = 0; i < files->count; i++) free(files->paths[i]);
  free(files->paths);
  *files = (struct data_folder_files){0};
}
