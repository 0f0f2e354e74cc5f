#include "io/config/find_file.h"

#include "base/near_miss.h"
#include "io/config/data_folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { NAME_SIZE = 256, NAMES_MOST = 512 };

static bool ends_in_cfg(const char *name) {
  const size_t size = strlen(name);
  return size > 4 && strcmp(name + size - 4, ".cfg") == 0;
}

void find_file_stem(const char *path, size_t size, char *stem) {
  const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
  snprintf(stem, size, "%.*s", (int)(strlen(name) - (ends_in_cfg(name) ? 4 : 0)), name);
}

bool find_file_is_name(const char *word) { return !strchr(word, '/'); }

static bool is_folder(const char *path) {
  struct stat about;
  return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

static bool exists(const char *path) {
  struct stat about;
  return stat(path, &about) == 0;
}

bool find_file_shipped(const char *subfolder, const char *name, char path[FIND_FILE_PATH_SIZE]) {
  struct data_folder_files files;
  struct error ignored; // without a data folder nothing is shipped
  char wanted[NAME_SIZE], stem[NAME_SIZE];
  bool found = false;
  error_clear(&ignored);
  find_file_stem(name, sizeof wanted, wanted);
  if (data_folder_list(subfolder, &files, &ignored) != STATUS_OK) return false;
  for (size_t i = 0; i < files.count && !found; i++) {
    find_file_stem(files.paths[i], sizeof stem, stem);
    found = strcmp(stem, wanted) == 0 && strlen(files.paths[i]) < FIND_FILE_PATH_SIZE;
    if (found) snprintf(path, FIND_FILE_PATH_SIZE, "%s", files.paths[i]);
  }
  data_folder_release(&files);
  return found;
}

/* Names that a mistyped one may have meant. */
struct names {
  size_t count;
  char *names[NAMES_MOST]; // owned
};

static void add_name(struct names *names, const char *path) {
  char stem[NAME_SIZE];
  find_file_stem(path, sizeof stem, stem);
  char *copy = names->count < NAMES_MOST ? strdup(stem) : NULL;
  if (copy) names->names[names->count++] = copy;
}

static void add_folder(struct names *names, const char *folder) {
  DIR *entries = opendir(folder);
  if (!entries) return;
  for (const struct dirent *entry; (entry = readdir(entries));)
    if (entry->d_name[0] != '.' && ends_in_cfg(entry->d_name)) add_name(names, entry->d_name);
  closedir(entries);
}

static void add_shipped(struct names *names, const char *subfolder) {
  struct data_folder_files files;
  struct error ignored;
  error_clear(&ignored);
  if (data_folder_list(subfolder, &files, &ignored) != STATUS_OK) return;
  for (size_t i = 0; i < files.count; i++) add_name(names, files.paths[i]);
  data_folder_release(&files);
}

bool find_file_near(const char *subfolder, const char *path, char near[FIND_FILE_PATH_SIZE]) {
  struct names names = {0};
  char wanted[NAME_SIZE];
  const char *slash = strrchr(path, '/');
  const int folder = slash ? (int)(slash - path) + 1 : 0;
  near[0] = '\0';
  find_file_stem(path, sizeof wanted, wanted);
  char *parent = slash ? strndup(path, (size_t)folder) : strdup(".");
  if (parent) add_folder(&names, parent);
  free(parent);
  const size_t beside = names.count;
  add_shipped(&names, subfolder);
  const char *best = near_miss_best(wanted, (const char *const *)names.names, names.count);
  for (size_t i = 0; best && i < names.count; i++)
    if (names.names[i] == best)
      snprintf(near, FIND_FILE_PATH_SIZE, "%.*s%s%s", i < beside ? folder : 0, path, best, i < beside ? ".cfg" : "");
  for (size_t i = 0; i < names.count; i++) free(names.names[i]);
  return near[0] != '\0';
}

enum status find_file(const char *subfolder, const char *word, char path[FIND_FILE_PATH_SIZE], struct error *error) {
  char near[FIND_FILE_PATH_SIZE];
  if (strlen(word) >= FIND_FILE_PATH_SIZE)
    return error_set(error, STATUS_NO_INPUT, "%.60s...: the path is longer than %d bytes", word, FIND_FILE_PATH_SIZE - 1);
  if (path != word) snprintf(path, FIND_FILE_PATH_SIZE, "%s", word);
  if (exists(word) && !(is_folder(word) && find_file_is_name(word))) return STATUS_OK;
  const int why = errno;
  if (find_file_is_name(word) && find_file_shipped(subfolder, word, path)) return STATUS_OK;
  if (is_folder(word)) return STATUS_OK; // its reader says that it is one
  find_file_near(subfolder, word, near);
  return error_set(error, STATUS_NO_INPUT, "%s: cannot be opened: %s%s%s%s", word, strerror(why),
                   near[0] ? "; did you mean " : "", near, near[0] ? "?" : "");
}
