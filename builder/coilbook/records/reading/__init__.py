"""Files in: CSV, rows, whole archives, imports; and the beginnings of a new one."""
