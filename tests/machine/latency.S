; The overflow interrupt notes the timer's count as its first instruction sees it.
#define __SFR_OFFSET 0
#include <avr/io.h>

.section .text
  rjmp start
  .org TIMER0_OVF_vect_num * 2
  in r20, TCNT0
  reti

start:
  ldi r24, 1 << TOIE0
  out TIMSK, r24
#ifdef SLEEPING
  ldi r24, 1 << SE
  out MCUCR, r24
#endif
  ldi r24, 1 << WGM01 | 1 << WGM00
  out TCCR0A, r24
  ldi r24, 1 << CS00
  out TCCR0B, r24
  sei
again:
#ifdef SLEEPING
  sleep
#endif
  inc r21
  rjmp again
