using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using SignalColour = Supervisor.Api.V1.SignalColour;
using Model = Supervisor.Machine.Api;

namespace Supervisor.Daemon.Services;

/// <summary>Turns signal lights and horn into the API's messages.</summary>
internal static class SignalMapping
{
    /// <summary>One light, its text in a language of the machine file.</summary>
    public static SignalLight ToMessage(Model.LightStatus status, MachineDefinition machine, string language)
    {
        var light = status.Definition;
        var message = new SignalLight
        {
            Name = light.Name,
            Place = light.Output.Text,

            // The API's numbers are one more, as 0 means unspecified there.
            Colour = (SignalColour)((int)light.Colour + 1),
            Look = (SignalLook)((int)status.Look + 1),
            Text = light.Texts[machine.Languages.Find(language)],
            Answers = status.Answers,
            Because = { status.Because.Words() },
        };
        if (status.On is { } on)
        {
            message.On = on;
        }

        return message;
    }

    /// <summary>The horn.</summary>
    public static Horn ToMessage(Model.HornStatus status)
    {
        var message = new Horn { Place = status.Place, Sounds = status.Sounds };
        if (status.On is { } on)
        {
            message.On = on;
        }

        return message;
    }
}
