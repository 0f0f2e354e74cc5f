#include "io/unit/zip_file.h"

#include <errno.h>
#include <minizip/zip.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

/* ---- minizip writes into a file without a name, which is copied when it is whole ---- */

static voidpf take_stream(voidpf opaque, const char *name, int mode) {
  (void)name, (void)mode;
  return opaque;
}
static uLong read_nothing(voidpf opaque, voidpf stream, void *bytes, uLong size) {
  (void)opaque, (void)stream, (void)bytes, (void)size;
  return 0;
}
static uLong write_bytes(voidpf opaque, voidpf stream, const void *bytes, uLong size) {
  (void)opaque;
  return (uLong)fwrite(bytes, 1, size, stream);
}
static long tell(voidpf opaque, voidpf stream) {
  (void)opaque;
  return ftell(stream);
}
static long seek(voidpf opaque, voidpf stream, uLong offset, int origin) {
  (void)opaque;
  const int from = origin == ZLIB_FILEFUNC_SEEK_CUR ? SEEK_CUR : origin == ZLIB_FILEFUNC_SEEK_END ? SEEK_END : SEEK_SET;
  return fseek(stream, (long)offset, from);
}
static int leave_open(voidpf opaque, voidpf stream) {
  (void)opaque, (void)stream;
  return 0;
}
static int has_failed(voidpf opaque, voidpf stream) {
  (void)opaque;
  return ferror((FILE *)stream);
}

enum status zip_file_open(struct zip_file *zip, const char *path, struct error *error) {
  *zip = (struct zip_file){0};
  const enum status status = output_file_open(&zip->file, path, error);
  if (status != STATUS_OK) return status;
  zip->draft = tmpfile();
  zlib_filefunc_def calls = {take_stream, read_nothing, write_bytes, tell, seek, leave_open, has_failed, zip->draft};
  if (zip->draft) zip->archive = zipOpen2(path, APPEND_STATUS_CREATE, NULL, &calls);
  if (zip->archive) return STATUS_OK;
  zip_file_discard(zip);
  return error_set(error, STATUS_CANNOT_CREATE, "%s: no archive can be written there", path);
}

void zip_file_add(struct zip_file *zip, const char *name, const void *bytes, size_t size) {
  const zip_fileinfo made = {.tmz_date = {0, 0, 0, 1, 0, 1980}}; // the earliest day that a ZIP can say
  if (zipOpenNewFileInZip(zip->archive, name, &made, NULL, 0, NULL, 0, NULL, Z_DEFLATED, Z_BEST_COMPRESSION) != ZIP_OK) {
    zip->failed = true;
    return;
  }
  if (zipWriteInFileInZip(zip->archive, bytes, (unsigned)size) != ZIP_OK) zip->failed = true;
  if (zipCloseFileInZip(zip->archive) != ZIP_OK) zip->failed = true;
}

enum status zip_file_add_file(struct zip_file *zip, const char *name, const char *path, struct error *error) {
  FILE *file = fopen(path, "rbe");
  if (!file) return error_set(error, STATUS_NO_INPUT, "%s: cannot read: %s", path, strerror(errno));
  enum status status = STATUS_OK;
  const long size = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
  rewind(file);
  char *bytes = size >= 0 ? malloc((size_t)size + 1) : NULL;
  if (!bytes || fread(bytes, 1, (size_t)size, file) != (size_t)size)
    status = error_set(error, STATUS_NO_INPUT, "%s: cannot read", path);
  else
    zip_file_add(zip, name, bytes, (size_t)size);
  free(bytes);
  fclose(file);
  return status;
}

static bool copy(FILE *from, FILE *to) {
  char bytes[1 << 14];
  size_t size;
  if (fflush(from) != 0 || fseek(from, 0, SEEK_SET) != 0) return false;
  while ((size = fread(bytes, 1, sizeof bytes, from)) > 0) fwrite(bytes, 1, size, to);
  return !ferror(from);
}

enum status zip_file_commit(struct zip_file *zip, struct error *error) {
  if (zipClose(zip->archive, NULL) != ZIP_OK) zip->failed = true;
  zip->archive = NULL;
  if (!zip->failed && !copy(zip->draft, zip->file.stream)) zip->failed = true;
  if (zip->failed) {
    zip_file_discard(zip);
    return error_set(error, STATUS_IO, "%s: writing the archive failed", zip->file.name);
  }
  fclose(zip->draft);
  return output_file_commit(&zip->file, error);
}

void zip_file_discard(struct zip_file *zip) {
  if (zip->archive) zipClose(zip->archive, NULL);
  if (zip->draft) fclose(zip->draft);
  zip->archive = NULL;
  zip->draft = NULL;
  output_file_discard(&zip->file);
}
