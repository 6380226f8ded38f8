"""Access copies that a recipient asks for: what can be met, what is put right, what is made."""
