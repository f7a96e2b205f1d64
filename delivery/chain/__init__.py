"""The shortest chain of steps (plan, pure) and its execution (render)."""
