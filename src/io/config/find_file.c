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

static bool ends_in(const char *name, const char *ending) {
  const size_t size = strlen(name), end = strlen(ending);
  return size > end && strcmp(name + size - end, ending) == 0;
}

void find_file_stem(const char *path, size_t size, char *stem) {
  const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
  snprintf(stem, size, "%.*s", (int)(strlen(name) - (ends_in(name, ".cfg") ? 4 : 0)), name);
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

static void add_name(struct names *names, const char *name) {
  char *copy = names->count < NAMES_MOST ? strdup(name) : NULL;
  if (copy) names->names[names->count++] = copy;
}

/* What ends so in the folder of a path. */
static void add_folder(struct names *names, const char *path, const char *ending) {
  const char *slash = strrchr(path, '/');
  char *folder = slash ? strndup(path, (size_t)(slash - path) + 1) : strdup(".");
  if (!folder) return;
  DIR *entries = opendir(folder);
  free(folder);
  if (!entries) return;
  for (const struct dirent *entry; (entry = readdir(entries));)
    if (entry->d_name[0] != '.' && ends_in(entry->d_name, ending)) add_name(names, entry->d_name);
  closedir(entries);
}

static void add_shipped(struct names *names, const char *subfolder) {
  struct data_folder_files files;
  struct error ignored;
  error_clear(&ignored);
  if (data_folder_list(subfolder, &files, &ignored) != STATUS_OK) return;
  for (size_t i = 0; i < files.count; i++) {
    char stem[NAME_SIZE];
    find_file_stem(files.paths[i], sizeof stem, stem);
    add_name(names, stem);
  }
  data_folder_release(&files);
}

/* Writes the nearest of the names; those before `beside` stand in the folder of the path, and end so. */
static bool write_near(struct names *names, size_t beside, const char *path, const char *wanted, const char *ending,
                       char near[FIND_FILE_PATH_SIZE]) {
  const char *slash = strrchr(path, '/'), *best = near_miss_best(wanted, (const char *const *)names->names, names->count);
  const int folder = slash ? (int)(slash - path) + 1 : 0;
  near[0] = '\0';
  for (size_t i = 0; best && i < names->count; i++)
    if (names->names[i] == best)
      snprintf(near, FIND_FILE_PATH_SIZE, "%.*s%s%s", i < beside ? folder : 0, path, best, i < beside ? ending : "");
  for (size_t i = 0; i < names->count; i++) free(names->names[i]);
  return near[0] != '\0';
}

bool find_file_near(const char *subfolder, const char *path, char near[FIND_FILE_PATH_SIZE]) {
  struct names names = {0};
  char wanted[NAME_SIZE];
  find_file_stem(path, sizeof wanted, wanted);
  add_folder(&names, path, ".cfg");
  const size_t beside = names.count;
  for (size_t i = 0; i < beside; i++) names.names[i][strlen(names.names[i]) - strlen(".cfg")] = '\0';
  add_shipped(&names, subfolder);
  return write_near(&names, beside, path, wanted, ".cfg", near);
}

enum status find_file_exists(const char *path, struct error *error) {
  struct names names = {0};
  char near[FIND_FILE_PATH_SIZE];
  if (exists(path)) return STATUS_OK;
  const int why = errno;
  const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path, *dot = strrchr(name, '.');
  add_folder(&names, path, dot ? dot : "");
  write_near(&names, names.count, path, name, "", near);
  return error_set(error, STATUS_NO_INPUT, "%s: cannot be opened: %s%s%s%s", path, strerror(why),
                   near[0] ? "; did you mean " : "", near, near[0] ? "?" : "");
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
