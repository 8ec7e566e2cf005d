/* Runs the statements of a test: SETUP once, LOOP for ever. */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <util/delay_basic.h>

#ifdef GLOBALS
GLOBALS
#endif

int main(void)
{
    SETUP;
    for (;;) {
        LOOP;
    }
}
