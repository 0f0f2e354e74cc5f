/* A ZIP archive by minizip, into an output file: the same content gives the same bytes. */
#ifndef IO_UNIT_ZIP_FILE_H
#define IO_UNIT_ZIP_FILE_H

#include "base/error.h"
#include "io/format/output_file.h"

struct zip_file {
  struct output_file file;
  FILE *draft; // an output file only goes forward; minizip also goes back
  void *archive;
  bool failed; // some write went wrong
};

/* Opens it; STATUS_CANNOT_CREATE. zip_file_discard() or zip_file_commit() afterwards. */
MUST_CHECK enum status zip_file_open(struct zip_file *zip, const char *path, struct error *error);

/* Adds a member from memory, or from a file. A file that cannot be read: STATUS_NO_INPUT. */
void zip_file_add(struct zip_file *zip, const char *name, const void *bytes, size_t size);
MUST_CHECK enum status zip_file_add_file(struct zip_file *zip, const char *name, const char *path, struct error *error);

/* STATUS_IO if anything was lost, and then nothing stays behind. */
MUST_CHECK enum status zip_file_commit(struct zip_file *zip, struct error *error);
void zip_file_discard(struct zip_file *zip);

#endif
