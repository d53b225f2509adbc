import { Controller } from '@nestjs/common'
import { Asked, type Call } from '../http/call.js'
import { Operation } from '../http/operation.js'
import { Work } from '../use/work.js'
import { anonymisePerson } from './anonymise.js'
import { addAbsence, addInstruction, createPerson, getPerson, listPeople, patchPerson, removeOf, setPassword } from './people.js'

@Controller()
export class PeopleController {
  constructor(private readonly work: Work) {}

  @Operation('listPeople')
  list(@Asked() call: Call<'listPeople'>) {
    return this.work.read(call, (reading) => listPeople(reading, call.query))
  }

  @Operation('createPerson')
  create(@Asked() call: Call<'createPerson'>) {
    return this.work.change(call, (changing) => createPerson(changing, call.body))
  }

  @Operation('getPerson')
  get(@Asked() call: Call<'getPerson'>) {
    return this.work.read(call, (reading) => getPerson(reading, call.params.personId))
  }

  @Operation('patchPerson')
  patch(@Asked() call: Call<'patchPerson'>) {
    return this.work.change(call, (changing) => patchPerson(changing, call.params.personId, call.body))
  }

  @Operation('anonymisePerson')
  anonymise(@Asked() call: Call<'anonymisePerson'>) {
    return this.work.change(call, (changing) => anonymisePerson(changing, call.params.personId, call.body.name))
  }

  @Operation('setPassword')
  setPassword(@Asked() call: Call<'setPassword'>) {
    return this.work.change(call, (changing) => setPassword(changing, call.params.personId, call.body.newPassword))
  }

  @Operation('addAbsence')
  addAbsence(@Asked() call: Call<'addAbsence'>) {
    return this.work.change(call, (changing) => addAbsence(changing, call.params.personId, call.body))
  }

  @Operation('removeAbsence')
  removeAbsence(@Asked() call: Call<'removeAbsence'>) {
    return this.work.change(call, (changing) => removeOf(changing, 'absence', call.params.personId, call.params.absenceId))
  }

  @Operation('addInstruction')
  addInstruction(@Asked() call: Call<'addInstruction'>) {
    return this.work.change(call, (changing) => addInstruction(changing, call.params.personId, call.body))
  }

  @Operation('removeInstruction')
  removeInstruction(@Asked() call: Call<'removeInstruction'>) {
    return this.work.change(call, (changing) => removeOf(changing, 'instruction', call.params.personId, call.params.instructionId))
  }
}
