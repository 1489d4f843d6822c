"""How demands become one plan: what is true, what asks for most, how it is done, why, and whose judgement."""
