"""The wall as it will stand: runs, heights, courses, parts and how their stock is cut."""
