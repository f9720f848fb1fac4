DROP TABLE side_decision;
