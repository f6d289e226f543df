using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>What starts and stops motion must reach the drive whole: a value that goes out in two frames does not.</summary>
internal static class ControlFieldChecks
{
    public static void Check(WireDefinition wire, IReadOnlyList<FieldDraft> command, CommandBits? commands, FileErrors errors)
    {
        if (wire.Split is null)
        {
            return;
        }

        string?[] control =
        [
            FieldNames.Controlword, FieldNames.Mode, commands?.Power?.Field, commands?.Go?.Field, commands?.Stop?.Field,
            commands?.FindReference?.Field, commands?.ClearFault?.Field,
        ];
        foreach (var draft in command.Where(draft => draft.Field.Width > 1 && control.Contains(draft.Field.Name)))
        {
            errors.Add(
                draft.Node.Find("type") ?? draft.Node,
                $"{Show.Quoted(draft.Field.Name)} commands the axis and must be written in one frame, but function 6 writes one register; declare the register with its bits as a field of 16 bits");
        }
    }
}
