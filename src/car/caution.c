#include "car/caution.h"

#define ON(name) CAUTION_STEP_##name
const struct caution_row caution_rows[CAUTION_COUNT] = {
#define CAUTION(name, needs, steps, brief, text) {#name, needs, steps, brief, text},
    CAUTION_LIST(CAUTION)
#undef CAUTION
};

const char *const caution_step_texts[CAUTION_STEP_COUNT] = {
#define STEP(name, text) text,
    CAUTION_STEP_LIST(STEP)
#undef STEP
};

const char caution_disclaimer[] = "The readings are those of a teaching model of an invented engine, not of any car. The vehicle "
                                  "maker's service information, local rules and a qualified technician decide. Circuits are "
                                  "named by what they do; pins and colours are in the maker's wiring diagram.";

unsigned caution_for(unsigned steps, unsigned features) {
  unsigned cautions = 0;
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((caution_rows[i].steps & steps) && (caution_rows[i].needs & ~features) == 0) cautions |= 1u << i;
  return cautions;
}

unsigned caution_torch_steps(unsigned features) {
  return ON(blade) | (features & FEATURE_electronic ? ON(press) | ON(unplug) : 0u);
}

const char *caution_torch(unsigned features) {
  if (features & FEATURE_electronic)
    return "key off, drive asleep and unplugged, intake pipe off: without power the blade rests a few degrees open, so press it "
           "shut "
           "by its edge and hold it; a torch behind it shows light all round, none, or on one side";
  return "key off, intake pipe off, pedal released: the blade stands on its stop screw, as shut as it gets; a torch behind it "
         "shows "
         "light all round, none, or on one side";
}
