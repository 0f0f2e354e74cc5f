#include "analysis/log/log_clock.h"

#include <ctype.h>
#include <string.h>

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* So many digits, none more behind if exact; 0 if there are fewer than least. */
static int digits(const char **at, int least, int most, int *value) {
  int count = 0;
  *value = 0;
  for (; count < most && is_digit((*at)[count]); count++) *value = 10 * *value + ((*at)[count] - '0');
  if (count < least) return 0;
  *at += count;
  return count;
}

static void pass_blanks(const char **at) {
  while (**at == ' ' || **at == '\t') (*at)++;
}

/* Days from 1970 to a date of the Gregorian calendar (counted by years that begin in March, so that a leap day is the last). */
static double days_from(int year, int month, int day) {
  const int y = month > 2 ? year : year - 1, m = (month + 9) % 12;
  // whole leap days. NOLINTNEXTLINE(bugprone-integer-division)
  return 365.0 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 719469.0;
}

/* ---- Parts ---- */

static bool good_date(int year, int month, int day) { return year >= 1900 && month >= 1 && month <= 12 && day >= 1 && day <= 31; }

/* 2024-12-31, 2024/12/31, 20241231 before a T. */
static bool read_date(const char **at, double *days) {
  const char *here = *at;
  int year, month, day;
  if (!digits(&here, 4, 4, &year)) return false;
  const char sign = *here;
  const bool parted = sign == '-' || sign == '/' || sign == '.';
  if (parted) here++;
  if (!digits(&here, parted ? 1 : 2, 2, &month) || (parted && *here++ != sign) || !digits(&here, parted ? 1 : 2, 2, &day))
    return false;
  if (!good_date(year, month, day) || (*here != 'T' && *here != 't' && (*here != ' ' || !parted))) return false;
  *at = here + 1;
  *days = days_from(year, month, day);
  return true;
}

/* 31.12.2024 or 12/31/2024: which is the month is not told, and only that the day has changed matters, which the clock shows. */
static void pass_local_date(const char **at) {
  const char *here = *at;
  int number;
  for (int part = 0; part < 3; part++) {
    if (!digits(&here, 1, part < 2 ? 2 : 4, &number)) return;
    if (part < 2 && *here != '.' && *here != '/' && *here != '-') return;
    if (part < 2) here++;
  }
  if (*here != ' ' && *here != ',' && *here != 'T') return;
  *at = here + 1;
  pass_blanks(at);
}

static double fraction(const char **at) {
  double value = 0.0, place = 0.1;
  // the digits end it, not the number. NOLINTNEXTLINE(cert-flp30-c)
  for ((*at)++; is_digit(**at); (*at)++, place /= 10.0) value += place * (**at - '0');
  return value;
}

static bool is_mark(char c) { return c == '.' || c == ','; }

/* The words for the halves of the day; 0 none, 1 before noon, 2 after. */
static int half_of(const char **at) {
  const char *here = *at;
  pass_blanks(&here);
  const int letter = tolower((unsigned char)*here);
  if (letter != 'a' && letter != 'p') return 0;
  here++;
  if (*here == '.') here++;
  if (tolower((unsigned char)*here) != 'm') return 0;
  here++;
  if (*here == '.') here++;
  *at = here;
  return letter == 'a' ? 1 : 2;
}

/* Z, +01:00, +0100, +01. False for anything else but the end. */
static bool read_zone(const char **at, double *ahead_s) {
  int hour, minute = 0;
  *ahead_s = 0.0;
  pass_blanks(at);
  if (**at == 'Z' || **at == 'z') (*at)++;
  if (**at == '\0') return true;
  const char sign = **at;
  if (sign != '+' && sign != '-') return false;
  (*at)++;
  if (!digits(at, 2, 2, &hour)) return false;
  if (**at == ':') (*at)++;
  if (**at != '\0' && !digits(at, 2, 2, &minute)) return false;
  *ahead_s = (sign == '-' ? -1.0 : 1.0) * (3600.0 * hour + 60.0 * minute);
  return **at == '\0';
}

/* Hours, minutes, seconds: how many of them stand there. */
static int read_parts(const char **at, bool basic, int parts[3], double *rest) {
  int count = 0;
  *rest = 0.0;
  for (; count < 3; count++) {
    if (count > 0 && !basic) {
      if (**at != ':') break;
      (*at)++;
    }
    if (!digits(at, count > 0 || basic ? 2 : 1, count == 0 && !basic ? 3 : 2, &parts[count]))
      return basic && count >= 2 ? count : 0;
  }
  if (count >= 2 && (is_mark(**at) || (count == 3 && **at == ':')) && is_digit((*at)[1])) *rest = fraction(at);
  return count;
}

enum log_clock_answer log_clock_read(const char *text, struct log_clock *clock) {
  const char *at = text;
  int parts[3] = {0};
  double days = 0.0, rest, ahead_s;
  *clock = (struct log_clock){0};
  clock->has_date = read_date(&at, &days);
  if (!clock->has_date) pass_local_date(&at);
  const bool dated = at != text, basic = clock->has_date && !strchr(at, ':');
  const char *begin = at;
  const int count = read_parts(&at, basic, parts, &rest);
  if (count < 2) return LOG_CLOCK_NONE;
  const bool fine = at > begin && is_mark(*(begin + strcspn(begin, ".,"))) && begin + strcspn(begin, ".,") < at;
  const int half = half_of(&at);
  if (!read_zone(&at, &ahead_s)) return LOG_CLOCK_NONE;
  if (count == 2 && fine && !dated && half == 0) { // minutes and seconds
    if (parts[1] > 59) return LOG_CLOCK_NONE;
    clock->time_s = 60.0 * parts[0] + parts[1] + rest;
    return LOG_CLOCK_TOLD;
  }
  if (parts[0] > (half ? 12 : 24) || parts[1] > 59 || parts[2] > 60) return LOG_CLOCK_NONE;
  if (count == 2 && !dated && half == 0) return LOG_CLOCK_UNTOLD;
  if (half) parts[0] = parts[0] % 12 + (half == 2 ? 12 : 0);
  clock->half_day = half == 0 && !clock->has_date && parts[0] >= 1 && parts[0] <= 12;
  clock->time_s = 86400.0 * days + 3600.0 * parts[0] + 60.0 * parts[1] + parts[2] + rest - ahead_s;
  return LOG_CLOCK_TOLD;
}
