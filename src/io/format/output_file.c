#include "io/format/output_file.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio_ext.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- What the signal handler clears up ---- */

/* A slot is claimed by one thread, filled, then armed; the handler looks at armed ones only. */
enum { SLOT_FREE, SLOT_CLAIMED, SLOT_ARMED };
static struct {
  atomic_int state; // lock-free on every target we build for, hence fit for a handler
  char part[OUTPUT_FILE_PATH_SIZE];
} slots[OUTPUT_FILE_OPEN_MAX];

static const int caught_signals[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};

/* Only calls that POSIX allows in a handler. The action was reset to the default when the handler started
 * and the signal is blocked until it returns; raised again, it ends the process with the status the parent
 * expects. */
static void clear_up(int signal_number) {
  for (int i = 0; i < OUTPUT_FILE_OPEN_MAX; i++)
    if (atomic_load(&slots[i].state) == SLOT_ARMED) unlink(slots[i].part);
  raise(signal_number);
}

void output_file_catch_signals(void) {
  struct sigaction action = {.sa_handler = clear_up, .sa_flags = (int)SA_RESETHAND};
  sigemptyset(&action.sa_mask);
  for (size_t i = 0; i < ARRAY_COUNT(caught_signals); i++) sigaddset(&action.sa_mask, caught_signals[i]);
  for (size_t i = 0; i < ARRAY_COUNT(caught_signals); i++) {
    struct sigaction before;
    if (sigaction(caught_signals[i], NULL, &before) != 0 || before.sa_handler == SIG_IGN) continue;
    sigaction(caught_signals[i], &action, NULL);
  }
}

/* Keeps the signals away while a part appears or vanishes, so that list and folder agree whenever one
 * arrives. */
static void hold_signals(sigset_t *before) {
  sigset_t held;
  sigemptyset(&held);
  for (size_t i = 0; i < ARRAY_COUNT(caught_signals); i++) sigaddset(&held, caught_signals[i]);
  pthread_sigmask(SIG_BLOCK, &held, before);
}

static void release_signals(const sigset_t *before) { pthread_sigmask(SIG_SETMASK, before, NULL); }

static int slot_claim(const char *part) {
  for (int i = 0; i < OUTPUT_FILE_OPEN_MAX; i++) {
    int expected = SLOT_FREE;
    if (!atomic_compare_exchange_strong(&slots[i].state, &expected, SLOT_CLAIMED)) continue;
    memcpy(slots[i].part, part, strlen(part) + 1);
    return i;
  }
  return -1;
}

static bool slot_holds(const char *part) {
  for (int i = 0; i < OUTPUT_FILE_OPEN_MAX; i++)
    if (atomic_load(&slots[i].state) == SLOT_ARMED && strcmp(slots[i].part, part) == 0) return true;
  return false;
}

/* ---- The stream: a buffer before write(2) that remembers why the first write failed ---- */

static ssize_t stream_write(void *cookie, const char *data, size_t size) {
  struct output_file *file = cookie;
  size_t done = 0;
  while (done < size) {
    const ssize_t written = write(file->descriptor, data + done, size - done);
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) {
      if (!file->failure) file->failure = errno;
      return 0; // fopencookie(3): zero tells of an error
    }
    done += (size_t)written;
  }
  return (ssize_t)done;
}

/* ---- Opening ---- */

static enum status cannot_create(const struct output_file *file, const char *reason, struct error *error) {
  return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot create: %s", file->name, reason);
}

/* The open descriptor that the name stands for, -1 if it is an ordinary name. Opened anew, such a file
 * would lose its place. */
static int named_descriptor(const char *name) {
  static const char folder[] = "/dev/fd/";
  if (strcmp(name, "/dev/stdout") == 0) return STDOUT_FILENO;
  if (strcmp(name, "/dev/stderr") == 0) return STDERR_FILENO;
  if (strncmp(name, folder, strlen(folder)) != 0) return -1;
  char *end;
  const long number = strtol(name + strlen(folder), &end, 10);
  return *end == '\0' && number >= 0 && number <= INT_MAX ? (int)number : -1;
}

/* Finds the final place and whether to write in place; mode becomes that of the file to be replaced. */
static enum status find_place(struct output_file *file, mode_t *mode, struct error *error) {
  struct stat found;
  memcpy(file->path, file->name, strlen(file->name) + 1);
  file->direct = named_descriptor(file->name) >= 0;
  if (file->direct) return STATUS_OK;
  if (stat(file->name, &found) != 0) {
    if (errno == ENOENT) return STATUS_OK; // a new file, or the end of a dangling link, which is replaced
    return cannot_create(file, strerror(errno), error);
  }
  if (S_ISDIR(found.st_mode)) return cannot_create(file, "it is a folder", error);
  if (!S_ISREG(found.st_mode)) file->direct = true;
  if (file->direct) return STATUS_OK;
  if (access(file->name, W_OK) != 0) return cannot_create(file, strerror(errno), error);
  *mode = found.st_mode & 0777;
  char *real = realpath(file->name, NULL);
  if (!real) return cannot_create(file, strerror(errno), error);
  const bool fits = strlen(real) < sizeof file->path;
  if (fits) memcpy(file->path, real, strlen(real) + 1);
  free(real);
  return fits ? STATUS_OK : cannot_create(file, strerror(ENAMETOOLONG), error);
}

static enum status open_direct(struct output_file *file, struct error *error) {
  const int named = named_descriptor(file->name);
  file->descriptor = named >= 0 ? fcntl(named, F_DUPFD_CLOEXEC, 0) : open(file->name, O_WRONLY | O_CLOEXEC);
  return file->descriptor < 0 ? cannot_create(file, strerror(errno), error) : STATUS_OK;
}

static enum status open_part(struct output_file *file, mode_t mode, struct error *error) {
  const int length = snprintf(file->part, sizeof file->part, "%s.part-%ld", file->path, (long)getpid());
  if (length < 0 || (size_t)length >= sizeof file->part) return cannot_create(file, strerror(ENAMETOOLONG), error);
  if (slot_holds(file->part)) return cannot_create(file, "this run is writing it already", error);
  file->slot = slot_claim(file->part);
  if (file->slot < 0) return cannot_create(file, "too many output files are open", error);

  const int flags = O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC;
  sigset_t before;
  hold_signals(&before);
  file->descriptor = open(file->part, flags, 0666);
  // Left behind by a process that was ended by SIGKILL and had the same number.
  if (file->descriptor < 0 && errno == EEXIST && unlink(file->part) == 0) file->descriptor = open(file->part, flags, 0666);
  const int reason = errno;
  atomic_store(&slots[file->slot].state, file->descriptor < 0 ? SLOT_FREE : SLOT_ARMED);
  release_signals(&before);
  if (file->descriptor < 0) {
    file->slot = -1;
    return cannot_create(file, strerror(reason), error);
  }
  if (mode && fchmod(file->descriptor, mode) != 0) {
    const int denied = errno;
    output_file_discard(file);
    return cannot_create(file, strerror(denied), error);
  }
  return STATUS_OK;
}

enum status output_file_open(struct output_file *file, const char *path, struct error *error) {
  memset(file, 0, sizeof *file);
  file->descriptor = file->slot = -1;
  if (path[0] == '\0') return error_set(error, STATUS_CANNOT_CREATE, "cannot create a file without a name");
  if (strlen(path) >= sizeof file->name)
    return error_set(error, STATUS_CANNOT_CREATE, "%.60s...: cannot create: %s", path, strerror(ENAMETOOLONG));
  memcpy(file->name, path, strlen(path) + 1);

  mode_t mode = 0;
  enum status status = find_place(file, &mode, error);
  if (status == STATUS_OK) status = file->direct ? open_direct(file, error) : open_part(file, mode, error);
  if (status != STATUS_OK) return status;
  file->stream = fopencookie(file, "w", (cookie_io_functions_t){.write = stream_write});
  if (!file->stream) {
    output_file_discard(file);
    return error_set(error, STATUS_NO_MEMORY, "%s: out of memory", file->name);
  }
  return STATUS_OK;
}

/* ---- Closing ---- */

/* Closes stream and descriptor; the descriptor's own error joins those of the writes. */
static void close_both(struct output_file *file) {
  if (file->stream && fclose(file->stream) != 0 && !file->failure) file->failure = errno ? errno : EIO;
  file->stream = NULL;
  // A device may refuse fsync (EINVAL); that says nothing about the data.
  if (file->durable && !file->failure && fsync(file->descriptor) != 0 && errno != EINVAL && errno != EROFS) file->failure = errno;
  if (file->descriptor >= 0 && close(file->descriptor) != 0 && !file->failure) file->failure = errno;
  file->descriptor = -1;
}

/* Renames the part, or removes it if something failed, and takes it from the list. */
static void end_part(struct output_file *file) {
  if (file->slot < 0) return;
  sigset_t before;
  hold_signals(&before);
  if (!file->failure && rename(file->part, file->path) != 0) file->failure = errno;
  if (file->failure) unlink(file->part);
  atomic_store(&slots[file->slot].state, SLOT_FREE);
  release_signals(&before);
  file->slot = -1;
}

enum status output_file_commit(struct output_file *file, struct error *error) {
  assert(file->stream);
  if (ferror(file->stream) && !file->failure) file->failure = EIO;
  close_both(file);
  end_part(file);
  if (!file->failure) return STATUS_OK;
  return error_set(error, STATUS_IO, "%s: cannot write: %s", file->name, strerror(file->failure));
}

void output_file_discard(struct output_file *file) {
  if (!file || file->name[0] == '\0') return;
  if (file->stream || file->descriptor >= 0) close_both(file);
  if (!file->failure) file->failure = ECANCELED;
  end_part(file);
}

/* ---- Folders and stdout ---- */

enum status output_file_make_folder(const char *path, struct error *error) {
  char part[OUTPUT_FILE_PATH_SIZE];
  const size_t length = strlen(path);
  if (length == 0 || length >= sizeof part)
    return error_set(error, STATUS_CANNOT_CREATE, "%.60s: cannot create the folder: %s", path,
                     length ? strerror(ENAMETOOLONG) : "it has no name");
  for (size_t i = 1; i <= length; i++) {
    if (path[i] != '/' && path[i] != '\0') continue;
    memcpy(part, path, i);
    part[i] = '\0';
    if (mkdir(part, 0777) == 0 || errno == EEXIST) continue;
    const int reason = errno;
    struct stat found; // on a read-only system even a folder that is there may give EROFS or EACCES
    if (stat(part, &found) == 0 && S_ISDIR(found.st_mode)) continue;
    return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot create the folder: %s", part, strerror(reason));
  }
  struct stat found;
  if (stat(path, &found) != 0)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot use the folder: %s", path, strerror(errno));
  if (!S_ISDIR(found.st_mode)) return error_set(error, STATUS_CANNOT_CREATE, "%s: is a file; a folder is needed", path);
  if (access(path, W_OK | X_OK) != 0)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: cannot write into the folder: %s", path, strerror(errno));
  return STATUS_OK;
}

enum status output_file_take_folder(const char *path, int *lock, struct error *error) {
  *lock = -1;
  const enum status status = output_file_make_folder(path, error);
  if (status != STATUS_OK) return status;
  *lock = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (*lock < 0 || flock(*lock, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK) return STATUS_OK;
  close(*lock);
  *lock = -1;
  return error_set(error, STATUS_CANNOT_CREATE,
                   "%s: another bladegap is writing into this folder: wait until it has ended, or choose another --out", path);
}

void output_file_give_back_folder(int lock) {
  if (lock > 0) close(lock); // 0 is stdin, or what main() put in its place
}

enum status output_file_close_stdout(struct error *error) {
  const bool lost_before = ferror(stdout) != 0;
  const bool had_data = __fpending(stdout) > 0;
  errno = 0;
  if (fclose(stdout) != 0) {
    // Started with stdout closed and nothing to say: no fault. Otherwise data was lost.
    if (errno == EBADF && !had_data && !lost_before) return STATUS_OK;
    return error_set(error, STATUS_IO, "stdout: cannot write: %s", strerror(errno));
  }
  if (lost_before) return error_set(error, STATUS_IO, "stdout: cannot write: some of the output was lost");
  return STATUS_OK;
}
