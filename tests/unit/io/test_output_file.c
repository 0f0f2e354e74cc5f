/* Files that are whole or not there. Truth: what the folder holds afterwards; errno(3) for the reasons. */
#include "io/format/output_file.h"
#include "support/check.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* An empty folder of its own for each test. */
struct place {
  char folder[64];
  char file[96];
};

static int make_place(void **state) {
  struct place *place = calloc(1, sizeof *place);
  if (!place) return -1;
  strcpy(place->folder, "/tmp/test_output_XXXXXX");
  if (!mkdtemp(place->folder)) return -1;
  snprintf(place->file, sizeof place->file, "%s/result.csv", place->folder);
  *state = place;
  return 0;
}

static int entry_count(const char *folder) {
  DIR *entries = opendir(folder);
  assert_non_null(entries);
  int count = 0;
  for (struct dirent *entry; (entry = readdir(entries));)
    count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
  closedir(entries);
  return count;
}

static int remove_place(void **state) {
  struct place *place = *state;
  char command[128];
  snprintf(command, sizeof command, "rm -rf '%s'", place->folder);
  const int result = system(command);
  free(place);
  return result;
}

static void assert_holds(const char *path, const char *expected) {
  char text[256] = "";
  FILE *file = fopen(path, "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof text - 1, file)] = '\0';
  fclose(file);
  assert_string_equal(text, expected);
}

static void write_file(const char *path, const char *text) {
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  fputs(text, file);
  assert_int_equal(fclose(file), 0);
}

static void the_name_appears_with_the_commit(void **state) {
  const struct place *place = *state;
  struct output_file file;
  struct error error;
  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  file.durable = true;
  fputs("one\n", file.stream);
  fflush(file.stream);
  assert_int_not_equal(access(place->file, F_OK), 0);
  char part[160];
  snprintf(part, sizeof part, "%s.part-%ld", place->file, (long)getpid());
  assert_int_equal(access(part, F_OK), 0);
  assert_int_equal(output_file_commit(&file, &error), STATUS_OK);
  assert_holds(place->file, "one\n");
  assert_int_equal(entry_count(place->folder), 1);
}

static void a_discarded_file_leaves_the_old_one(void **state) {
  const struct place *place = *state;
  struct output_file file;
  struct error error;
  write_file(place->file, "old\n");
  assert_int_equal(chmod(place->file, 0640), 0);
  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  fputs("new\n", file.stream);
  output_file_discard(&file);
  output_file_discard(&file); // twice does no harm
  assert_holds(place->file, "old\n");
  assert_int_equal(entry_count(place->folder), 1);

  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  fputs("new\n", file.stream);
  assert_int_equal(output_file_commit(&file, &error), STATUS_OK);
  assert_holds(place->file, "new\n");
  struct stat found;
  assert_int_equal(stat(place->file, &found), 0);
  assert_int_equal(found.st_mode & 0777, 0640);
}

static void a_link_stays_a_link(void **state) {
  const struct place *place = *state;
  char target[128];
  struct output_file file;
  struct error error;
  struct stat found;
  snprintf(target, sizeof target, "%s/target.csv", place->folder);
  write_file(target, "old\n");
  assert_int_equal(symlink(target, place->file), 0);
  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  fputs("new\n", file.stream);
  assert_int_equal(output_file_commit(&file, &error), STATUS_OK);
  assert_holds(target, "new\n");
  assert_int_equal(lstat(place->file, &found), 0);
  assert_true(S_ISLNK(found.st_mode));
}

static void a_stale_part_is_replaced_but_not_one_in_use(void **state) {
  const struct place *place = *state;
  struct output_file file, second;
  struct error error;
  char part[160];
  snprintf(part, sizeof part, "%s.part-%ld", place->file, (long)getpid());
  write_file(part, "left over by a process with our number\n");
  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  assert_int_equal(output_file_open(&second, place->file, &error), STATUS_CANNOT_CREATE);
  output_file_discard(&second);
  fputs("first\n", file.stream);
  assert_int_equal(output_file_commit(&file, &error), STATUS_OK);
  assert_holds(place->file, "first\n");
  assert_int_equal(entry_count(place->folder), 1);
}

/* A child opens a file, writes half of it, tells us and is ended by the signal. */
static void assert_nothing_left_after(const struct place *place, int signal_number) {
  int ready[2];
  char letter;
  int state = 0;
  assert_int_equal(pipe(ready), 0);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    struct output_file file;
    struct error error;
    signal(signal_number, SIG_DFL); // a shell's background jobs begin with SIGINT ignored
    output_file_catch_signals();
    if (output_file_open(&file, place->file, &error) != STATUS_OK) _exit(1);
    fputs("half", file.stream);
    fflush(file.stream);
    if (write(ready[1], entry_count(place->folder) == 1 ? "y" : "n", 1) != 1) _exit(1);
    for (;;) pause();
  }
  assert_int_equal(read(ready[0], &letter, 1), 1);
  assert_int_equal(letter, 'y');
  assert_int_equal(kill(child, signal_number), 0);
  assert_int_equal(waitpid(child, &state, 0), child);
  close(ready[0]);
  close(ready[1]);
  assert_true(WIFSIGNALED(state)); // ended by the signal itself, as the shell expects
  assert_int_equal(WTERMSIG(state), signal_number);
  assert_int_equal(entry_count(place->folder), 0);
}

static void a_killed_run_leaves_nothing(void **state) {
  const struct place *place = *state;
  static const int signals[] = {SIGTERM, SIGINT, SIGHUP, SIGPIPE};
  for (size_t i = 0; i < ARRAY_COUNT(signals); i++) assert_nothing_left_after(place, signals[i]);
}

static void an_ignored_signal_stays_ignored(void **state) {
  (void)state;
  struct sigaction action;
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    signal(SIGHUP, SIG_IGN); // as nohup does
    output_file_catch_signals();
    sigaction(SIGHUP, NULL, &action);
    _exit(action.sa_handler == SIG_IGN ? 0 : 1);
  }
  int ended = 0;
  assert_int_equal(waitpid(child, &ended, 0), child);
  assert_true(WIFEXITED(ended) && WEXITSTATUS(ended) == 0);
}

static void a_full_disk_is_told(void **state) {
  (void)state;
  struct output_file file;
  struct error error;
  error_clear(&error);
  assert_int_equal(output_file_open(&file, "/dev/full", &error), STATUS_OK);
  fputs("data\n", file.stream);
  assert_int_equal(output_file_commit(&file, &error), STATUS_IO);
  assert_string_equal(error.text, "/dev/full: cannot write: No space left on device");

  // The reason survives however much is written after the first failure.
  assert_int_equal(output_file_open(&file, "/dev/full", &error), STATUS_OK);
  for (int i = 0; i < 100000; i++) fputs("data\n", file.stream);
  errno = 0;
  assert_int_equal(output_file_commit(&file, &error), STATUS_IO);
  assert_non_null(strstr(error.text, "No space left on device"));
}

static void a_pipe_is_written_in_place(void **state) {
  const struct place *place = *state;
  struct output_file file;
  struct error error;
  char text[16] = "";
  assert_int_equal(mkfifo(place->file, 0600), 0);
  FILE *reader = fopen(place->file, "r+");
  assert_non_null(reader);
  assert_int_equal(output_file_open(&file, place->file, &error), STATUS_OK);
  assert_int_equal(entry_count(place->folder), 1);
  fputs("through\n", file.stream);
  assert_int_equal(output_file_commit(&file, &error), STATUS_OK);
  assert_non_null(fgets(text, sizeof text, reader));
  assert_string_equal(text, "through\n");
  fclose(reader);
}

static void what_cannot_be_created_is_named(void **state) {
  const struct place *place = *state;
  struct output_file file;
  struct error error;
  char path[256];
  snprintf(path, sizeof path, "%s/missing/result.csv", place->folder);
  assert_int_equal(output_file_open(&file, path, &error), STATUS_CANNOT_CREATE);
  assert_non_null(strstr(error.text, path));
  assert_non_null(strstr(error.text, strerror(ENOENT)));
  output_file_discard(&file);
  assert_int_equal(output_file_open(&file, place->folder, &error), STATUS_CANNOT_CREATE);
  assert_non_null(strstr(error.text, "it is a folder"));
  assert_int_equal(output_file_open(&file, "", &error), STATUS_CANNOT_CREATE);
  char name[400];
  memset(name, 'n', sizeof name - 1);
  name[sizeof name - 1] = '\0';
  assert_int_equal(output_file_open(&file, name, &error), STATUS_CANNOT_CREATE);
  assert_int_equal(entry_count(place->folder), 0);
}

static void folders_are_made_with_those_above(void **state) {
  const struct place *place = *state;
  struct error error;
  struct stat found;
  char path[256];
  snprintf(path, sizeof path, "%s/a/b//c/", place->folder);
  assert_int_equal(output_file_make_folder(path, &error), STATUS_OK);
  assert_int_equal(stat(path, &found), 0);
  assert_true(S_ISDIR(found.st_mode));
  assert_int_equal(output_file_make_folder(path, &error), STATUS_OK);
  assert_int_equal(output_file_make_folder("/", &error), geteuid() == 0 ? STATUS_OK : STATUS_CANNOT_CREATE);

  write_file(place->file, "a file\n");
  assert_int_equal(output_file_make_folder(place->file, &error), STATUS_CANNOT_CREATE);
  assert_non_null(strstr(error.text, "is a file"));
  snprintf(path, sizeof path, "%s/below", place->file);
  assert_int_equal(output_file_make_folder(path, &error), STATUS_CANNOT_CREATE);
  assert_int_equal(output_file_make_folder("", &error), STATUS_CANNOT_CREATE);
}

/* Whether another process may take the folder. */
static bool another_may_take(const char *path) {
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    int lock;
    struct error error;
    error_clear(&error);
    const enum status status = output_file_take_folder(path, &lock, &error);
    _exit(status == STATUS_OK ? 0 : status == STATUS_CANNOT_CREATE && strstr(error.text, "another bladegap") ? 1 : 2);
  }
  int ended = 0;
  assert_int_equal(waitpid(child, &ended, 0), child);
  assert_true(WIFEXITED(ended) && WEXITSTATUS(ended) < 2);
  return WEXITSTATUS(ended) == 0;
}

static void a_folder_is_one_process_at_a_time(void **state) {
  const struct place *place = *state;
  struct error error;
  char path[256];
  int lock;
  snprintf(path, sizeof path, "%s/a/b", place->folder);
  assert_int_equal(output_file_take_folder(path, &lock, &error), STATUS_OK);
  assert_int_equal(entry_count(path), 0); // nothing of the lock lies about
  assert_false(another_may_take(path));
  assert_true(another_may_take(place->folder));
  output_file_give_back_folder(lock);
  assert_true(another_may_take(path));
  output_file_give_back_folder(-1);
  output_file_give_back_folder(0);
  assert_true(fcntl(STDIN_FILENO, F_GETFD) >= 0);
}

/* The child's stdout is the file; its exit code is the status, 100 if the message lacks the reason. */
static int close_stdout_of_child(const char *path, const char *text) {
  fflush(stdout);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    struct error error;
    error_clear(&error);
    if (!path)
      close(STDOUT_FILENO);
    else if (!freopen(path, "w", stdout))
      _exit(101);
    fputs(text, stdout);
    const enum status status = output_file_close_stdout(&error);
    if (status != STATUS_OK && strncmp(error.text, "stdout: cannot write: ", 22) != 0) _exit(100);
    _exit((int)status);
  }
  int ended = 0;
  assert_int_equal(waitpid(child, &ended, 0), child);
  assert_true(WIFEXITED(ended));
  return WEXITSTATUS(ended);
}

static void lost_output_on_stdout_is_told(void **state) {
  (void)state;
  assert_int_equal(close_stdout_of_child("/dev/null", "text"), STATUS_OK);
  assert_int_equal(close_stdout_of_child("/dev/full", "text"), STATUS_IO);
  assert_int_equal(close_stdout_of_child(NULL, "text"), STATUS_IO);
  assert_int_equal(close_stdout_of_child(NULL, ""), STATUS_OK);
}

int main(void) {
#define PLACED(test) cmocka_unit_test_setup_teardown(test, make_place, remove_place)
  const struct CMUnitTest tests[] = {
      PLACED(the_name_appears_with_the_commit),
      PLACED(a_discarded_file_leaves_the_old_one),
      PLACED(a_link_stays_a_link),
      PLACED(a_stale_part_is_replaced_but_not_one_in_use),
      PLACED(a_killed_run_leaves_nothing),
      cmocka_unit_test(an_ignored_signal_stays_ignored),
      cmocka_unit_test(a_full_disk_is_told),
      PLACED(a_pipe_is_written_in_place),
      PLACED(what_cannot_be_created_is_named),
      PLACED(folders_are_made_with_those_above),
      PLACED(a_folder_is_one_process_at_a_time),
      cmocka_unit_test(lost_output_on_stdout_is_told),
  };
#undef PLACED
  return cmocka_run_group_tests(tests, NULL, NULL);
}
