DROP TABLE interest_charge;
DROP TABLE balance_letter;
DROP TABLE balance_stop;
DROP TABLE balance_rule;
DROP TABLE bill_of_sale;
DROP TABLE bill_of_sale_text;
DROP TABLE cost_head;
DROP TABLE cost;
