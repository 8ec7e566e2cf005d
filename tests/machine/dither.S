; A whole light in small: four dithered PWM channels on two timers in inverting fast PWM, the
; overflow interrupt right at its vector and working on reserved registers only, two complementary
; pump pins, idle sleep, a tick every 32 overflows, a button, one EEPROM byte a tick, a watchdog.

#define __SFR_OFFSET 0
#include <avr/io.h>

#if defined(__AVR_ATtiny2313A__) || defined(__AVR_ATtiny4313__) || defined(__AVR_ATtiny2313__)
#define OVERFLOW_VECTOR TIMER0_OVF_vect_num
#define MASK TIMSK
#define DIRECTION_1 DDRB, (1 << 2 | 1 << 3 | 1 << 4)
#define DIRECTION_2 DDRD, (1 << 5 | 1 << 0 | 1 << 1)
#define PUMP_LATCH PORTD
#define PUMP_TOGGLE PIND
#define BUTTON_LATCH PORTB
#define BUTTON_INPUT PINB
#define BUTTON 0
#define WATCHDOG WDTCR
#elif defined(__AVR_ATtiny84A__) || defined(__AVR_ATtiny84__)
#define OVERFLOW_VECTOR TIM0_OVF_vect_num
#define MASK TIMSK0
#define DIRECTION_1 DDRB, (1 << 2)
#define DIRECTION_2 DDRA, (1 << 7 | 1 << 6 | 1 << 5 | 1 << 0 | 1 << 1)
#define PUMP_LATCH PORTA
#define PUMP_TOGGLE PINA
#define BUTTON_LATCH PORTB
#define BUTTON_INPUT PINB
#define BUTTON 0
#define WATCHDOG WDTCSR
#else
#define OVERFLOW_VECTOR TIMER0_OVF_vect_num
#define MASK TIMSK0
#define DIRECTION_1 DDRB, (1 << 1 | 1 << 2)
#define DIRECTION_2 DDRD, (1 << 6 | 1 << 5 | 1 << 0 | 1 << 1)
#define PUMP_LATCH PORTD
#define PUMP_TOGGLE PIND
#define BUTTON_LATCH PORTB
#define BUTTON_INPUT PINB
#define BUTTON 0
#define WATCHDOG WDTCSR
#endif

#if FLASHEND > 0x1FFF
#define VECTOR_SIZE 4
#else
#define VECTOR_SIZE 2
#endif

; Registers that OUT reaches are given by their I/O address, others by their data address.
.macro put register, value
  .if \register < 0x40
    out \register, \value
  .else
    sts \register, \value
  .endif
.endm

#define zero r1
#define status r15
#define scratch r16
#define overflows r17
#define pump r18
#define work r24

.section .text
.global start, tick_done, feed_here
vectors:
  rjmp start
  .org OVERFLOW_VECTOR * VECTOR_SIZE
overflow:
  in status, SREG
  add r2, r6
  mov scratch, r10
  sbc scratch, zero
  put OCR0A, scratch
  add r3, r7
  mov scratch, r11
  sbc scratch, zero
  put OCR0B, scratch
  add r4, r8
  mov scratch, r12
  sbc scratch, zero
  put OCR1AL, scratch
  add r5, r9
  mov scratch, r13
  sbc scratch, zero
  put OCR1BL, scratch
  out PUMP_TOGGLE, pump
  inc overflows
  out SREG, status
  reti

.macro direct register, bits
  ldi work, \bits
  out \register, work
.endm

start:
  clr zero
  ldi work, lo8(RAMEND)
  out SPL, work
#ifdef SPH
  ldi work, hi8(RAMEND)
  out SPH, work
#endif
  ; duties 0, 64 + 128/256, 200 + 1/256, 255 counts: bases are 255 minus the whole counts
  clr r2
  clr r3
  clr r4
  clr r5
  clr r6
  ldi work, 128
  mov r7, work
  ldi work, 1
  mov r8, work
  clr r9
  ldi work, 255
  mov r10, work
  ldi work, 255 - 64
  mov r11, work
  ldi work, 255 - 200
  mov r12, work
  clr r13
  clr overflows
  ldi pump, 3

  direct DIRECTION_1
  direct DIRECTION_2
  sbi PUMP_LATCH, 0
  sbi BUTTON_LATCH, BUTTON
  ldi work, 1 << WDCE | 1 << WDE
  put WATCHDOG, work
  ldi work, 1 << WDE | 1 << WDP0
  put WATCHDOG, work

  ldi work, 1 << COM0A1 | 1 << COM0A0 | 1 << COM0B1 | 1 << COM0B0 | 1 << WGM01 | 1 << WGM00
  put TCCR0A, work
  ldi work, 1 << COM1A1 | 1 << COM1A0 | 1 << COM1B1 | 1 << COM1B0 | 1 << WGM10
  put TCCR1A, work
  ldi work, 1 << TOIE0
  put MASK, work
  ; Timer 1 starts later than timer 0 and is preset to make up for it.
  ldi work, 1 << CS00
  ldi r25, 1 << WGM12 | 1 << CS10
  clr scratch
  put TCNT1H, scratch
  ldi scratch, START_LAG
  put TCNT1L, scratch
  put TCCR0B, work
  put TCCR1B, r25
#ifdef SMCR
  ldi work, 1 << SE
  put SMCR, work
#else
  ldi work, 1 << SE
  put MCUCR, work
#endif
  sei

again:
  sleep
  cpi overflows, 32
  brlo again
  subi overflows, 32
feed_here:
  wdr
  sbic BUTTON_INPUT, BUTTON
  rjmp released
  inc r20
  ; Remember the count of pressed ticks, if the EEPROM has time.
  sbic EECR, EEPE
  rjmp released
  out EEDR, r20
  clr work
#ifdef EEARH
  out EEARH, work
#endif
  out EEARL, work
  cli
  sbi EECR, EEMPE
  sbi EECR, EEPE
  sei
released:
tick_done:
  rjmp again
