#include "io/config/data_folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool has_folder(const char *base, const char *subfolder, char path[DATA_FOLDER_PATH_SIZE]) {
  struct stat about;
  const int size = snprintf(path, DATA_FOLDER_PATH_SIZE, "%s/%s", base, subfolder);
  return size < DATA_FOLDER_PATH_SIZE && stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

/* Writes FOLDER/rest, FOLDER being where the running program lies; false if that cannot be known, or is too long. */
static bool beside_program(const char *rest, char path[DATA_FOLDER_PATH_SIZE]) {
  const ssize_t size = readlink("/proc/self/exe", path, DATA_FOLDER_PATH_SIZE - 1);
  if (size <= 0) return false;
  path[size] = '\0';
  char *slash = strrchr(path, '/');
  if (!slash) return false;
  const size_t room = DATA_FOLDER_PATH_SIZE - (size_t)(slash + 1 - path);
  return snprintf(slash + 1, room, "%s", rest) < (int)room;
}

bool data_folder_base(size_t index, char path[DATA_FOLDER_PATH_SIZE]) {
  static const char *const places[] = {BLADEGAP_DATA_BESIDE, "share/bladegap", BLADEGAP_DATA_INSTALLED};
  const char *chosen = getenv("BLADEGAP_DATA");
  const bool given = chosen && *chosen;
  path[0] = '\0';
  if (given && index == 0) return snprintf(path, DATA_FOLDER_PATH_SIZE, "%s", chosen) < DATA_FOLDER_PATH_SIZE;
  index -= given;
  if (index >= sizeof places / sizeof places[0]) return false;
  if (places[index][0] == '/') return snprintf(path, DATA_FOLDER_PATH_SIZE, "%s", places[index]) < DATA_FOLDER_PATH_SIZE;
  if (!beside_program(places[index], path)) path[0] = '\0';
  return true;
}

/* The folder as it is called without links and "..", which is how its files are shown. */
static void resolve(char path[DATA_FOLDER_PATH_SIZE]) {
  char *real = realpath(path, NULL);
  if (real && strlen(real) < DATA_FOLDER_PATH_SIZE) memcpy(path, real, strlen(real) + 1);
  free(real);
}

static enum status find(const char *subfolder, char path[DATA_FOLDER_PATH_SIZE], struct error *error) {
  const char *chosen = getenv("BLADEGAP_DATA");
  char base[DATA_FOLDER_PATH_SIZE], looked[3 * DATA_FOLDER_PATH_SIZE] = "";
  for (size_t i = 0; data_folder_base(i, base); i++) {
    if (has_folder(base, subfolder, path)) {
      if (!chosen || !*chosen) resolve(path);
      return STATUS_OK;
    }
    if (chosen && *chosen)
      return error_set(error, STATUS_NO_INPUT, "BLADEGAP_DATA is '%s', and there is no folder '%s' in it", chosen, subfolder);
    const size_t used = strlen(looked);
    snprintf(looked + used, sizeof looked - used, "%s%s", used ? ", " : "", base);
  }
  return error_set(error, STATUS_NO_INPUT, "no folder '%s' in any of %s; set BLADEGAP_DATA to the folder that has it", subfolder,
                   looked);
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
  // as many as there are. NOLINTNEXTLINE(clang-analyzer-core.NullDereference)
  for (size_t i = 0; i < files->count; i++) free(files->paths[i]);
  free(files->paths);
  *files = (struct data_folder_files){0};
}
