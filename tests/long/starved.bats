#!/usr/bin/env bats
# What tests/starved.bats does at some points, at every one.

load ../lib
load ../faults

setup_file() {
	faults_setup_file
}

setup() {
	begin
	faults_setup
}

@test "each request for memory fails" {
	memory_is_ours
	starved alloc
}

@test "no memory any more, from each request on" {
	memory_is_ours
	starved scarce
}

@test "a disk that is full, at each byte" {
	starved full
}

@test "64 MiB of memory, and a longer list, in every run" {
	memory_is_ours
	starved limit
}
