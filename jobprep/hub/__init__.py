"""The printed hub as solids, and the files a 3-D printer's software reads."""
