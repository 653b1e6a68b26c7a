"""Tests of drawings, labels and packets: what is on paper is measured against the plan."""
