/* Preloaded before a program: a signal every 300 us whose handler does nothing and does not restart what it interrupts (no SA_RESTART), so that
 * calls that wait end with EINTR (signal(7)). What the program starts has neither library nor timer. */
#include <signal.h>
#include <stdlib.h>
#include <sys/time.h>

static void nothing(int number) { (void)number; }

__attribute__((constructor)) static void begin(void) {
  struct sigaction action = {.sa_handler = nothing};
  sigemptyset(&action.sa_mask);
  sigaction(SIGALRM, &action, NULL);
  const struct itimerval often = {{0, 300}, {0, 300}};
  setitimer(ITIMER_REAL, &often, NULL);
  unsetenv("LD_PRELOAD");
}
