/* The file that a user or another file means: by its path, or by the bare name of a shipped one.
 *
 *   four-16               a file of that name here, else models/four-16.cfg of the data folder (data_folder.h)
 *   models/for-16.cfg     no such file: refused, with the nearest name there is */
#ifndef IO_CONFIG_FIND_FILE_H
#define IO_CONFIG_FIND_FILE_H

#include "base/attributes.h"
#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum { FIND_FILE_PATH_SIZE = 1024 };

/* "four-16" of "models/four-16.cfg", cut to fit. */
void find_file_stem(const char *path, size_t size, char *stem);

/* Whether a word can only be a name: it has no slash. */
bool find_file_is_name(const char *word);

/* The shipped file of this name, with or without its .cfg; subfolder: "models" or "scenarios". False if there is none. */
MUST_CHECK bool find_file_shipped(const char *subfolder, const char *name, char path[FIND_FILE_PATH_SIZE]);

/* The name most like this path's among the .cfg of its own folder and the shipped ones, as it would be written; false, and an empty
 * text, if none is near. */
bool find_file_near(const char *subfolder, const char *path, char near[FIND_FILE_PATH_SIZE]);

/* STATUS_NO_INPUT if there is no such file, with the name most like it that ends so in its folder. */
MUST_CHECK enum status find_file_exists(const char *path, struct error *error);

/* Turns a word of the command line into a path; word may be path itself. STATUS_NO_INPUT: there is no such file, with a near miss. */
MUST_CHECK enum status find_file(const char *subfolder, const char *word, char path[FIND_FILE_PATH_SIZE], struct error *error);

#endif
