using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>Every input and output that the machine file names, with its level and what uses it.</summary>
internal sealed class PlaceDiagnosis(MachineDefinition machine, DiagnosisPlaces places, Func<InputReference, bool?> level, Func<OutputReference, bool?> output)
{
    public IEnumerable<DiagnosedThing> Things() =>
        machine.AllInputs().DistinctBy(input => input.Text).Select(LookAtInput).Concat(machine.AllOutputs().Select(each => LookAtOutput(each.Name, each.Place)));

    private DiagnosedThing LookAtInput(InputReference input)
    {
        List<Finding> findings = input switch
        {
            { Gpio: { } line } => GpioDiagnosis.Look(places.Gpio, line, isOutput: false).Findings,
            { Source: InputSource.File, Path: { } path } => [LookAtFile(path)],
            _ => level(input) is { } closed ? [Finding.Good(closed ? "reads 1: closed" : "reads 0: open")] : [Finding.Note("not read: what carries it did not answer")],
        };
        return new DiagnosedThing("input", input.Text, string.Join(", ", machine.UsesOf(input)), findings);
    }

    private DiagnosedThing LookAtOutput(string name, OutputReference place)
    {
        List<Finding> findings = place.Gpio is { } line
            ? GpioDiagnosis.Look(places.Gpio, line, isOutput: true).Findings
            : output(place) is { } on ? [Finding.Good(on ? "is on" : "is off")] : [Finding.Note("its level was not read")];
        return new DiagnosedThing("output", name, place.Text, findings);
    }

    private static Finding LookAtFile(string path)
    {
        try
        {
            return File.ReadAllText(path).TrimEnd() switch
            {
                "1" => Finding.Good($"{path} holds 1: closed"),
                "0" => Finding.Good($"{path} holds 0: open"),
                _ => Finding.Wrong($"{path} holds neither 1 nor 0", "let whoever writes it write one character, 1 for closed"),
            };
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return Finding.Wrong($"{path} can't be read: {exception.Message}", "start what writes it, and let the daemon's user read it");
        }
    }
}
