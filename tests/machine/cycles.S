; One of each kind of instruction, a label before each and one at the end. What an instruction needs
; (a stack, pointers into RAM) is prepared before the first label.
#include <avr/io.h>

.section .text
.global main
.macro at name
  .global at_\name
at_\name:
.endm

main:
  ldi r26, lo8(RAMSTART)
  ldi r27, hi8(RAMSTART)
  ldi r28, lo8(RAMSTART)
  ldi r29, hi8(RAMSTART)
  ldi r30, lo8(pm(target))
  ldi r31, hi8(pm(target))
  clr r16
at add
  add r0, r1
at movw
  movw r2, r0
at adiw
  adiw r24, 1
at sbiw
  sbiw r24, 1
at ldi
  ldi r17, 1
at ld_x
  ld r0, X
at ld_x_up
  ld r0, X+
at ld_x_down
  ld r0, -X
at ldd
  ldd r0, Y + 1
at st_x
  st X, r0
at std
  std Y + 1, r0
at lds
  lds r0, RAMSTART
at sts
  sts RAMSTART, r0
at in
  in r0, 0x3f
at out
  out _SFR_IO_ADDR(EEARL), r16
at push
  push r0
at pop
  pop r0
at sbi
  sbi _SFR_IO_ADDR(PORTB), 0
at cbi
  cbi _SFR_IO_ADDR(PORTB), 0
at sbis_no_skip
  sbis _SFR_IO_ADDR(PORTB), 0
at nop
  nop
at sbic_skip
  sbic _SFR_IO_ADDR(PORTB), 0
  nop
at sbrs_no_skip
  sbrs r16, 0
at sbrc_skip
  sbrc r16, 0
  nop
at sbrc_skip_two
  sbrc r16, 0
  lds r0, RAMSTART
at cpse_skip
  cpse r16, r16
  nop
at cpse_no_skip
  cpse r16, r17
at brne_taken
  tst r17
at brne
  brne 1f
  nop
1:
at breq_not_taken
  breq 1f
1:
at rjmp
  rjmp 1f
1:
at rcall
  rcall target
at icall
  icall
at lpm_z
  lpm r0, Z
at lpm_z_up
  lpm r0, Z+
at swap
  swap r0
at bst
  bst r0, 1
at wdr
  wdr
at sleep
  sleep
at end
  rjmp at_end

target:
at ret
  ret
