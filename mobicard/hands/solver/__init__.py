"""The best day plan a constraint solver finds in its time, and what no plan can beat."""
