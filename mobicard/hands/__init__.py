"""hands: the shift's moves against its people and lifts; who helps whom, when, and what falls short.

demand     each bed's turns, toilet rounds, chair and walk goals, booked moves, as moves with their windows
supply     the staff list and the inventory, piece by piece; what cannot be taken is named
grid       both on slots of five minutes: possible starts, who could go, how far apart two moves must lie
greedy     the plain order, which needs nothing installed
solver     the constraint solver's plan (extra ``solver``): who goes where, what makes it better, and what no
           plan can beat, by search (``unbeatable``) and by counting (``crowded``)
short      the half-hour, the people or the lift that lack, the moves that wait and until when
day        all of it: ``plan_day``;  replan  the rest of the shift again from now
ticks      moves ticked off and progress to the day's goals
page       one page of paper, with chart;  timeline  the same as lines of letters
"""
