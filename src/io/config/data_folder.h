/* Where the program finds its models and scenarios: $BLADEGAP_DATA, else from where the program itself lies (../share/bladegap of an
 * installed one, wherever that has been moved to; share/bladegap of one just built), else where `install` was to put them. */
#ifndef IO_CONFIG_DATA_FOLDER_H
#define IO_CONFIG_DATA_FOLDER_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum { DATA_FOLDER_PATH_SIZE = 1024 };

/* The folders that may hold models, scenarios and the page, best first; false: there are no more. A folder that cannot be told is an
 * empty text; none need be there. */
bool data_folder_base(size_t index, char path[DATA_FOLDER_PATH_SIZE]);

/* Files of one folder in order of their names. */
struct data_folder_files {
  size_t count;
  char **paths; // owned, with what is in them
};

/* The *.cfg in subfolder ("models", "scenarios") of the data folder. STATUS_NO_INPUT if there is no such
 * folder. */
MUST_CHECK enum status data_folder_list(const char *subfolder, struct data_folder_files *files, struct error *error);
void data_folder_release(struct data_folder_files *files);

#endif
