//! Rules in three-valued logic over what is known of patient, visit, route and situation.
