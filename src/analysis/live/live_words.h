/* What a live session shows, in words and numbers of the moment last looked at. Each goes into a text of the caller, cut to size. */
#ifndef ANALYSIS_LIVE_LIVE_WORDS_H
#define ANALYSIS_LIVE_LIVE_WORDS_H

#include "analysis/live/live_session.h"

enum { LIVE_WORDS_SIZE = 1400 };

/* "12.3 s, x10, paused"; "slower here" where the machine cannot keep up. */
void live_words_time(const struct live_session *session, size_t size, char *text);

/* "742 rpm, target 750; blade 2.31 deg; air 2.41 g/s, ..."; brief: speed, opening and air alone. */
void live_words_numbers(const struct live_session *session, bool brief, size_t size, char *text);

/* "Codes: P0506 pending.", and which fault is seen now and has not lasted long enough. */
void live_words_codes(const struct live_session *session, size_t size, char *text);

/* From film to speed, link by link, as it is at this moment. */
void live_words_reasons(const struct live_session *session, size_t size, char *text);

/* Which links that chain has now: changes when another reason counts, not with every number. */
unsigned live_words_kind(const struct live_session *session);

/* An event: "12.30 s: the engine stalled". */
void live_words_event(const struct recording_event *event, size_t size, char *text);

#endif
