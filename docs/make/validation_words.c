#include "make/validation_words.h"

// clang-format off
const char validation_searched[] =
"### What was looked for, and what was found\n\n"
"| looked for | found | how it is known |\n|---|---|---|\n"
"| flow or opening of a throttle, dirty and clean | no measurement. A trade page: 5 % open clean, 17 % dirty for the same 3 g/s; another car there idled "
"1 degree open after a clean, where it had not gone below 2 | read; two cars, no method told |\n"
"| leakage of a closed clean throttle | 5.3 mm2 on 58.7 mm in a parameter set; 2.82 g/s at 0 degrees in Crossley and Cook's regression (with "
"whatever bypass it had) | read; neither says how |\n"
"| the same | M. Cary et al., *Throttle body: modelling and identification*, Proc. IMechE D 2001, has a closed-plate leakage term | abstract only, no number |\n"
"| growth of the closed gap with heat | a hobby page (4am365.github.io) computes 16 um of diameter for 50 K on a 73 mm aluminium bore with a steel "
"plate: as much as a film | read; computed there, not measured |\n"
"| thin slots and cracks | *Gas Flow Through Cracks*, J. Fluids Eng. 100 (1978) 453: nitrogen, 13 cracks 6 to 810 um deep; smooth parallel ones pass "
"less than laminar and turbulent theory say | abstract only |\n"
"| the same | an experiment on rectangular orifices (Saskatchewan), sides 1 : 1 to 1 : 300, 0.3 to 3 diameters long: flow does not change evenly "
"with either | abstract only |\n"
"| the same | flow goes with pressure to the power 0.5 through large openings, some 0.65 through crack-like ones (Dols and Walton 2002, in the "
"documents of a buildings library) | read there |\n"
"| discharge of a throttle plate by angle | P. Carlsson, *Flow Through a Throttle Body* (Linkoping 2007): computed flows | abstract only |\n"
"| idle fuel without load | US DOE Fact #861, from Argonne; many pages repeat its 0.16 and 0.39 gal/h | read |\n"
"| cold friction | SAE 890836, SAE 2005-01-1654 (four diesels, from -20 C), ASME ICEF2001: higher when cold, follows the oil's viscosity | abstracts only, no number |\n\n";

const char validation_unchecked[] =
"## What nothing outside checks\n\n"
"- **Film to air.** How much air a deposit of a given thickness takes: geometry alone, no measurement (see the bench above).\n"
"- **Deposits themselves**: how thick they grow and how fast, where the band sits, its width, its cos2 profile, its bias round the bore, how rough "
"they are, how they stick a blade. Invented.\n"
"- **Discharge of the gap** at an idle's few degrees and at the closed stop. The real car's curve is the only hold, and it gives area times "
"discharge, not either.\n"
"- **Residual gas and what dilution does** to burning and to unsteadiness: form and coefficients from memory.\n"
"- **Unsteadiness of speed** beyond one car's; the scatter from cycle to cycle is set so that it looks right.\n"
"- **Load steps**: depth and length of a dip beyond one car's compressor.\n"
"- **The computer**: gains, limits of effort and learned part, how fast it learns, which code sets when. Makers differ and do not publish.\n"
"- **What a fault does to each reading**: signs only, held against trade pages and common practice ([faults.md](faults.md)); no sizes.\n"
"- **Warm-up**: heat capacities and losses; the times to 80 C are common practice without a source.\n"
"- **The throttle drive**: motor, springs, friction, position loop.\n"
"- **Estimates**: that probabilities come true is shown on cars that this program drew itself. How often each cause occurs is invented.\n"
"- **Altitude** above some 800 m, cold below 0 C, fuels other than petrol.\n\n"
"Tests that look like outside checks and are not: `test_guzzella` (its idle points were worked out here, from a set that was read), "
"`test_twin` (an independent\nprogram, but of the same equations), `test_throttle_area` (the closed form is from memory; a brute-force integral of the "
"same outline judges it), `test_story`\nand the trends of `test_engines` (invariants, and what the engine files promise of themselves).\n\n";
// clang-format on
