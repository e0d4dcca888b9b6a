#!/usr/bin/env bats
# What tests/interrupted.bats does to a part of what there is, to all of it.

load ../lib
load ../faults

setup_file() {
	faults_setup_file
}

setup() {
	begin
	faults_setup
}

@test "SIGKILL at each call on files, and in the middle of each that writes" {
	runs_listed | interrupted kill
}

@test "SIGKILL at 200 moments of a run that writes side files, and at 200 of one that fills a directory" {
	large_runs >runs
	interrupted moments <runs
}

@test "SIGHUP, SIGINT and SIGTERM at each call" {
	runs_listed | interrupted end
}

@test "another run meanwhile, at each call" {
	runs_listed | interrupted pair
}
