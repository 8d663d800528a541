/* drive.h - plays a script through the channel, and tells how the twin's answer differs */
#pragma once

#include "channel/twin.h"

/* Fills in when the windows of radios that sleep begin, as the channel draws it. */
void drive_phases(TwinScript *script);

/* The channel's answer to the script, in the twin's form. */
void drive_channel(const TwinScript *script, TwinResult *result);

/* NULL if the two agree, else what differs; free with g_free(). */
char *drive_difference(const TwinScript *script, const TwinResult *plain, const TwinResult *fast);
