/* Things that happen between ticks, found as sign changes. */
#ifndef PLANT_EVENTS_H
#define PLANT_EVENTS_H

/* EVENT(name, text): its function is positive before. */
// clang-format off
#define PLANT_EVENT_LIST(EVENT)                                                                               \
  EVENT(stall, "speed fell below what keeps the engine running")                                              \
  EVENT(standstill, "the crank came to rest")                                                                 \
  EVENT(closed_stop, "the blade reached its closed stop")                                                     \
  EVENT(open_stop, "the blade reached its open stop")                                                         \
  EVENT(blade_rests, "the blade came to rest")                                                                \
  EVENT(blade_opens, "a resting blade broke loose and opens")                                                 \
  EVENT(blade_closes, "a resting blade broke loose and closes")
// clang-format on

enum plant_event {
#define EVENT(name, text) PLANT_EVENT_##name,
  PLANT_EVENT_LIST(EVENT)
#undef EVENT
      PLANT_EVENT_COUNT
};
enum { PLANT_BLADE_EVENT_FIRST = PLANT_EVENT_closed_stop }; // from here on they are the blade's

#endif
