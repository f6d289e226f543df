using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what a contact move that goes wrong means. Left out: no contact is too early, and a missing one fails the command.</summary>
internal static class ContactReader
{
    private static readonly Choices<ContactFailure> Failures = new(("fail", ContactFailure.Fail), ("fault", ContactFailure.Fault));

    public static ContactDefinition Read(ObjectReader axis, string unit)
    {
        var contact = axis.Object("contact", MachineShapes.Contact);
        var before = contact?.Find("earlyBefore") is null ? (double?)null : contact.Number("earlyBefore", NumberRange.Any(unit), double.NaN);
        if (contact?.Find("early") is not null && contact.Find("earlyBefore") is null)
        {
            contact.Refuse("early", "says what a contact too early is, but not before which position it is one; give earlyBefore");
        }

        return new ContactDefinition(
            before,
            contact?.Choice("early", Failures, ContactFailure.Fail) ?? ContactFailure.Fail,
            contact?.Choice("missing", Failures, ContactFailure.Fail) ?? ContactFailure.Fail);
    }
}
